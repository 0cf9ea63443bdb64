"""Places, typed by their code."""

from typing import Any

from django import forms

from seedbank.bank.models import Place
from seedbank.bank.queries import place_by_code
from seedbank.members.models import Member


class PlaceField(forms.CharField):
    """A place typed by its code, one's own or the bank's."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=20, **options)
        self.widget.attrs.update({"list": "place-suggestions", "autocomplete": "off"})


def find_place(user: Member, code: str, *, of_bank: bool) -> Place | None:
    if not code:
        return None
    place = place_by_code(user, code, of_bank=of_bank)
    if place is None:
        whose = "The bank has" if of_bank else "You have"
        raise forms.ValidationError(f"{whose} no place {code}. Add it to the places first.")
    return place


class PlaceForm(forms.ModelForm):  # type: ignore[type-arg]  # not generic at run time
    """A drawer, tray or box."""

    class Meta:
        model = Place
        fields = ["code", "name", "walk_order", "temperature_celsius"]
        labels = {
            "name": "What it is",
            "walk_order": "Order on the way through the store",
            "temperature_celsius": "Temperature, °C",
        }

    is_bank = forms.BooleanField(required=False, initial=True, label="It is a place of the bank")

    def __init__(self, *args: Any, user: Member, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["walk_order"].required = False
        if not user.is_keeper or self.instance.pk:
            del self.fields["is_bank"]

    def _post_clean(self) -> None:
        """Build no record here: the act does, and its rules speak in their own order."""

    def facts(self) -> dict[str, Any]:
        facts = {name: self.cleaned_data[name] for name in self.Meta.fields}
        return facts | {"walk_order": facts["walk_order"] or 0}
