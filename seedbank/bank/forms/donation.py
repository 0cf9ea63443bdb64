"""What is typed when seed is offered to the bank and when it arrives."""

from collections.abc import Iterable
from typing import Any

from django import forms

from crosses.base.pages import KeyedForm
from crosses.forms.fields import let_find, taxon_field
from crosses.queries.finding import find_taxon
from seedbank.bank.forms.place import PlaceField, find_place
from seedbank.bank.models import DonationLine, Lot, Place
from seedbank.bank.queries import member_by_number_or_name
from seedbank.members.models import Member


class OfferForm(KeyedForm):
    """Packets of each of one's lots to give away."""

    note = forms.CharField(
        required=False, label="Note for the keeper", widget=forms.Textarea(attrs={"rows": 2})
    )

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

    def __init__(self, *args: Any, user: Member, line: DonationLine, **options: Any) -> None:
        options["prefix"] = f"line-{line.pk}"
        super().__init__(*args, **options)
        self.user = user
        self.fields["packets_received"].initial = line.packets_offered

    def clean_place(self) -> Place | None:
        return find_place(self.user, self.cleaned_data["place"], of_bank=True)


class HandDonationForm(KeyedForm):
    """Seed that came without records here."""

    donor = forms.CharField(
        max_length=200,
        label="Donor",
        help_text="Member number or name.",
        widget=forms.TextInput(attrs={"list": "member-suggestions", "autocomplete": "off"}),
    )
    name_text = forms.CharField(max_length=300, label="Name as written on it")
    taxon = taxon_field(
        required=False, label="Taxon", help_text="Its species, if the name does not say."
    )
    year = forms.IntegerField(min_value=1800, max_value=2200, label="Year of harvest")
    origin = forms.ChoiceField(choices=Lot.Origin.choices, label="Origin")
    wild_where = forms.CharField(max_length=200, required=False, label="Where it was collected")
    wild_permit = forms.CharField(max_length=120, required=False, label="Permit")
    packets = forms.IntegerField(min_value=1, max_value=2000, label="Packets")
    seeds_each = forms.IntegerField(min_value=1, max_value=1_000_000, label="Seeds in each")
    place = PlaceField(label="Into place")
    hazard_note = forms.CharField(
        max_length=300, required=False, label="Caution", help_text="If it can hurt somebody."
    )
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, user: Member, **options: Any) -> None:
        super().__init__(*args, **options)
        self.user = user
        let_find(self, find_taxon, "taxon")

    def clean_donor(self) -> Member:
        donor = member_by_number_or_name(self.cleaned_data["donor"])
        if donor is None:
            raise forms.ValidationError("There is no such member; type the member number.")
        return donor

    def clean_place(self) -> Place | None:
        return find_place(self.user, self.cleaned_data["place"], of_bank=True)

    def facts(self) -> dict[str, Any]:
        return dict(self.cleaned_data)
