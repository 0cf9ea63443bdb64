"""Places, typed by their code."""

from typing import Any

from django import forms

from crosses.base.pages import said_no
from crosses.base.refusal import Refused
from seedbank.bank.models import Place
from seedbank.bank.queries import NEW_PLACE, new_place, place_by_code
from seedbank.members.models import Member

# A code is short, as written on the tray; what the place is called may be longer.
LONGEST = 120 + len(NEW_PLACE)


class PlaceField(forms.CharField):
    """A place typed by its code, one's own or the bank's."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=LONGEST, **options)
        self.widget.attrs.update({"list": "place-suggestions", "autocomplete": "off"})


def find_place(user: Member, code: str, *, of_bank: bool, may_be_new: bool = False) -> Place | None:
    """Return the place meant; where it `may_be_new`, one that the act has to keep."""
    if not code:
        return None
    is_new = may_be_new and code.startswith(NEW_PLACE)
    name = code.removeprefix(NEW_PLACE).strip() if is_new else code
    place = place_by_code(user, name, of_bank=of_bank)
    if place is not None:
        return place
    if is_new and name:
        return new_place(name, owner=None if of_bank else user)
    whose = "The bank has" if of_bank else "You have"
    raise said_no(
        Refused(
            "place-unknown",
            f"{whose} no place {name}." + ("" if may_be_new else " Add it to the places first."),
            choices=[(f"{NEW_PLACE}{name}", f"Make a place {name}")] if may_be_new else (),
        )
    )


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
