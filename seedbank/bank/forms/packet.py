"""What is typed when packets are made, put away, split or discarded."""

from typing import Any

from django import forms

from crosses.base.fact_forms import FactsForm
from crosses.base.pages import KeyedForm
from seedbank.bank.facts import PACKET
from seedbank.bank.forms.place import PlaceField, find_place
from seedbank.bank.models import Place
from seedbank.members.models import Member


class MakePacketsForm(FactsForm):
    """How many packets of how many seeds."""

    declared = PACKET
    field_order: tuple[str, ...] = ("how_many", "seeds_each", "is_pinch", "place")

    how_many = forms.IntegerField(min_value=1, max_value=2000, label="Packets")
    seeds_each = forms.IntegerField(min_value=1, max_value=1_000_000, label="Seeds in each")
    place = PlaceField(required=False, label="Place", help_text="Where they lie: A-03.")

    def __init__(
        self, *args: Any, user: Member | None, of_bank: bool = False, **options: Any
    ) -> None:
        super().__init__(*args, **options)
        self.user, self.of_bank = user, of_bank
        self.fields["place"].required = self.of_bank

    def clean_place(self) -> Place | None:
        typed = self.cleaned_data["place"]
        assert self.user is not None  # noqa: S101  only a form without data is nobody's
        may_be_new = self.user.is_keeper or not self.of_bank
        return find_place(self.user, typed, of_bank=self.of_bank, may_be_new=may_be_new)


class HarvestIntoPacketsForm(MakePacketsForm, KeyedForm):
    """A harvest made a lot and put in packets at one go; without a number of packets, the lot alone."""

    name_text = forms.CharField(
        max_length=300, label="Name of the seed", help_text="Seed parent first."
    )
    field_order = ("name_text", *MakePacketsForm.field_order)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["how_many"].required = self.fields["seeds_each"].required = False
        self.fields["how_many"].help_text = "None: the seed stays loose in its lot."

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for given, missing, words in (
            ("how_many", "seeds_each", "How many seeds go in each packet?"),
            ("seeds_each", "how_many", "How many packets?"),
        ):
            if cleaned.get(given) and not cleaned.get(missing) and missing not in self.errors:
                self.add_error(missing, words)
        return cleaned

    def packets(self) -> dict[str, Any] | None:
        """Return what is asked of the packets, or None if there are to be none yet."""
        if not self.cleaned_data["how_many"]:
            return None
        names = ("how_many", "seeds_each", "place")
        return self.facts() | {name: self.cleaned_data[name] for name in names}


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
