"""What is typed when seed is offered to the bank and when it arrives."""

from collections.abc import Iterable
from typing import Any

from django import forms

from crosses.base.fact_forms import FactsForm
from crosses.base.pages import KeyedForm
from crosses.calc.checkdigit import read_number
from crosses.calc.errors import BadInput
from crosses.forms.fields import let_find, taxon_field
from crosses.queries.finding import find_taxon
from seedbank.bank.facts import DONATION, OFFERED
from seedbank.bank.forms.place import PlaceField, find_place
from seedbank.bank.models import DonationLine, Lot, Place
from seedbank.bank.queries import USUAL_SEEDS_PER_PACKET, member_by_number_or_name
from seedbank.members.models import Member


class OfferForm(FactsForm, KeyedForm):
    """Packets of each of one's lots to give away."""

    declared = DONATION

    def __init__(self, *args: Any, lots: Iterable[Lot], **options: Any) -> None:
        super().__init__(*args, **options)
        self.lots = {f"packets_{lot.number}": lot for lot in lots}
        for name, lot in self.lots.items():
            self.fields[name] = forms.IntegerField(
                required=False, min_value=0, max_value=2000, label=f"Packets of {lot.number}"
            )

    def rows(self) -> list[tuple[Lot, forms.BoundField]]:
        return [(lot, self[name]) for name, lot in self.lots.items()]

    def lines(self) -> list[tuple[Lot, int]]:
        typed = ((lot, self.cleaned_data.get(name)) for name, lot in self.lots.items())
        return [(lot, packets) for lot, packets in typed if packets]


class GiveForm(KeyedForm):
    """Into how many packets seed is filled that is given."""

    how_many = forms.IntegerField(min_value=1, max_value=2000, label="Packets")
    seeds_each = forms.IntegerField(
        min_value=1, max_value=1_000_000, label="Seeds in each", initial=USUAL_SEEDS_PER_PACKET
    )

    def packets(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("how_many", "seeds_each")}


class CheckInForm(forms.Form):
    """A packet as it is taken out of the envelope, or a lot of the sheet."""

    number = forms.CharField(
        max_length=120,
        label="Scan a packet, or a lot on the sheet",
        widget=forms.TextInput(
            attrs={
                "class": "number",
                "autocomplete": "off",
                "autocapitalize": "characters",
                "data-scan": "submit",
                "autofocus": True,
            }
        ),
    )
    place = PlaceField(label="Into place")

    def __init__(self, *args: Any, user: Member, **options: Any) -> None:
        super().__init__(*args, **options)
        self.user = user

    def clean_place(self) -> Place | None:
        return find_place(self.user, self.cleaned_data["place"], of_bank=True)

    def clean_number(self) -> str:
        """Read a packet's number or a lot's; a code's whole address is understood too."""
        typed = self.cleaned_data["number"].rstrip("/").rpartition("/")[2].strip()
        kind = "lot" if typed.upper().startswith("L") else "packet"
        try:
            return read_number(typed, kind=kind)
        except BadInput as wrong:
            raise forms.ValidationError(wrong.message) from wrong


class AnswerForm(forms.Form):
    """What became of one line of an offer."""

    answer = forms.ChoiceField(
        label="Answer",
        required=False,
        widget=forms.RadioSelect,
        choices=[
            ("", "later"),
            (DonationLine.Answer.ACCEPTED, "accept"),
            (DonationLine.Answer.DECLINED, "decline"),
            (DonationLine.Answer.NOT_RECEIVED, "not in the envelope"),
        ],
    )
    packets_received = forms.IntegerField(
        required=False, min_value=0, max_value=2000, label="Packets that came"
    )
    numbers = forms.CharField(
        required=False,
        label="or their numbers, scanned",
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 2, "spellcheck": "false", "class": "number"}),
    )
    place = PlaceField(required=False, label="Into place")
    reason = forms.CharField(required=False, max_length=300, label="Reason, if declined")
    name_text = forms.CharField(required=False, max_length=300, label="Name as it should be")
    taxon = taxon_field(required=False, label="Taxon")

    def __init__(
        self,
        *args: Any,
        user: Member,
        line: DonationLine,
        place: str = "",
        scanned: int = 0,
        **options: Any,
    ) -> None:
        options["prefix"] = f"line-{line.pk}"
        super().__init__(*args, **options)
        self.user, self.lot, self.scanned = user, line.lot, scanned
        self.fields["packets_received"].initial = scanned or line.packets_offered
        self.fields["place"].initial = place
        self.fields["name_text"].initial = line.lot.name_text
        self.fields["taxon"].initial = line.lot.taxon or ""
        let_find(self, find_taxon, "taxon")

    @property
    def is_renamed(self) -> bool:
        """Whether the keeper wrote another name or taxon; a name left out changes nothing."""
        name, taxon = self.cleaned_data["name_text"], self.cleaned_data["taxon"]
        return bool(name) and (name, taxon) != (self.lot.name_text, self.lot.taxon)

    def clean_place(self) -> Place | None:
        return find_place(self.user, self.cleaned_data["place"], of_bank=True)


class HandOfferForm(FactsForm, KeyedForm):
    """Seed that has no records here yet."""

    declared = OFFERED
    field_order: tuple[str, ...] = (
        "name_text",
        "taxon",
        "year",
        "origin",
        "wild_where",
        "wild_country",
        "wild_permit",
        "packets",
        "seeds_each",
        "hazard_note",
        "note",
    )

    name_text = forms.CharField(max_length=300, label="Name as written on it")
    taxon = taxon_field(
        required=False, label="Taxon", help_text="Its species, if the name does not say."
    )
    packets = forms.IntegerField(min_value=1, max_value=2000, label="Packets")
    seeds_each = forms.IntegerField(min_value=1, max_value=1_000_000, label="Seeds in each")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        let_find(self, find_taxon, "taxon")

    def facts(self) -> dict[str, Any]:
        return dict(self.cleaned_data)


class HandDonationForm(HandOfferForm):
    """Seed that came without records here, and lies on the keeper's table."""

    donor = forms.CharField(
        max_length=200,
        label="Donor",
        help_text="Member number or name.",
        widget=forms.TextInput(attrs={"list": "member-suggestions", "autocomplete": "off"}),
    )
    place = PlaceField(label="Into place")
    field_order = ("donor", *HandOfferForm.field_order)

    def __init__(self, *args: Any, user: Member, **options: Any) -> None:
        super().__init__(*args, **options)
        self.user = user

    def clean_donor(self) -> Member:
        donor = member_by_number_or_name(self.cleaned_data["donor"])
        if donor is None:
            raise forms.ValidationError("There is no such member; type the member number.")
        return donor

    def clean_place(self) -> Place | None:
        return find_place(self.user, self.cleaned_data["place"], of_bank=True)
