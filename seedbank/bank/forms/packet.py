"""What is typed when packets are made, put away, split or discarded."""

from typing import Any

from django import forms

from seedbank.bank.forms.place import PlaceField, find_place
from seedbank.bank.models import Lot, Place
from seedbank.members.models import Member


class MakePacketsForm(forms.Form):
    """How many packets of how many seeds."""

    how_many = forms.IntegerField(min_value=1, max_value=2000, label="Packets")
    seeds_each = forms.IntegerField(min_value=1, max_value=1_000_000, label="Seeds in each")
    is_pinch = forms.BooleanField(
        required=False, label="Dust seed: a pinch each, the number is a guess"
    )
    place = PlaceField(required=False, label="Place", help_text="Where they lie: A-03.")

    def __init__(self, *args: Any, user: Member, lot: Lot, **options: Any) -> None:
        super().__init__(*args, **options)
        self.user, self.of_bank = user, lot.owner_id is None
        self.fields["place"].required = self.of_bank

    def clean_place(self) -> Place | None:
        return find_place(self.user, self.cleaned_data["place"], of_bank=self.of_bank)


class StoreForm(forms.Form):
    """Packet numbers, one a line as a scanner types them, and the place they are put in."""

    place = PlaceField(label="Into place")
    packets = forms.CharField(
        label="Packet numbers",
        max_length=100_000,
        widget=forms.Textarea(
            attrs={
                "rows": 8,
                "autocapitalize": "characters",
                "spellcheck": "false",
                "class": "number",
            }
        ),
        help_text="One a line, typed or scanned.",
    )
    of_bank = forms.TypedChoiceField(
        label="The place is",
        choices=[("bank", "the bank's"), ("own", "my own")],
        widget=forms.RadioSelect,
        required=False,
    )

    def __init__(self, *args: Any, user: Member, **options: Any) -> None:
        super().__init__(*args, **options)
        self.user = user
        self.order_fields(["of_bank", "place", "packets"])
        if user.is_keeper:
            self.fields["of_bank"].initial = "bank"
        else:
            del self.fields["of_bank"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if "place" in cleaned:
            of_bank = self.user.is_keeper and cleaned.get("of_bank") != "own"
            try:
                cleaned["place"] = find_place(self.user, cleaned["place"], of_bank=of_bank)
            except forms.ValidationError as unknown:
                self.add_error("place", unknown)
        return cleaned


class SplitForm(forms.Form):
    """Seeds of each part: 10 15."""

    parts = forms.CharField(
        label="Seeds in each new packet", max_length=500, help_text="10 and 15, or 10, 10, 5."
    )

    def clean_parts(self) -> list[int]:
        words = self.cleaned_data["parts"].replace(",", " ").replace("and", " ").replace("+", " ")
        if not all(word.isascii() and word.isdigit() for word in words.split()):
            raise forms.ValidationError("Write whole numbers of seeds: 10 and 15.")
        return [int(word) for word in words.split()]


class DiscardForm(forms.Form):
    why = forms.CharField(max_length=300, label="Why", help_text="Mouldy, empty, mixed up ...")
