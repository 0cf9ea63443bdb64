"""The shape of what is typed about sowings and counts."""

from decimal import Decimal
from typing import Any

from django import forms

from crosses.base.fact_forms import FactsForm
from crosses.base.pages import KeyedForm, NumberField
from crosses.base.typed import DecimalField
from crosses.forms.fields import day_field
from seedbank.sowings.facts import COUNT, SOWING
from seedbank.sowings.models import Count, Pretreatment, Replicate, Sowing
from seedbank.sowings.queries.lots import USUAL_CONFIDENCE, USUAL_SEEDLINGS

PRETREATMENT_STEPS = 4
USUAL_SURE_PERCENT = round(100 * USUAL_CONFIDENCE)


def _celsius(label: str) -> DecimalField:
    return DecimalField(
        label=label,
        max_digits=4,
        decimal_places=1,
        required=False,
        min_value=Decimal(-40),
        max_value=60,
    )


class SowForm(FactsForm, KeyedForm):
    """Seed of a packet that is sown."""

    declared = SOWING

    packet = NumberField(kind="packet", label="Packet", help_text="Scan or type its number.")
    replicate_seeds = forms.CharField(
        label="Seeds in each pot",
        required=False,
        max_length=200,
        help_text="For several pots: 25, 25, 25, 25. Empty: all in one pot.",
    )
    purpose = forms.ChoiceField(
        choices=Sowing.Purpose.choices, widget=forms.RadioSelect, initial=Sowing.Purpose.GROW
    )
    temperature_low_celsius = _celsius("Temperature from, °C")
    temperature_high_celsius = _celsius("Temperature to, °C")

    def __init__(self, *args: Any, suggestions: str = "packets", **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["packet"].widget.attrs["list"] = suggestions

    def clean_replicate_seeds(self) -> list[int]:
        text: str = self.cleaned_data["replicate_seeds"].replace(";", ",")
        parts = [part.strip() for part in text.split(",") if part.strip()]
        if not all(part.isdecimal() and int(part) > 0 for part in parts):
            raise forms.ValidationError("Write the seeds of each pot as numbers: 25, 25, 25, 25.")
        return [int(part) for part in parts]

    def facts(self) -> dict[str, Any]:
        """Return what goes into the sowing as typed."""
        return super().facts() | {"replicate_seeds": self.cleaned_data["replicate_seeds"]}


class AdviceForm(forms.Form):
    """What one would like to have come up, and how surely."""

    packet = NumberField(kind="packet", label="Packet")
    seedlings = forms.IntegerField(
        label="Seedlings wanted", min_value=1, max_value=10_000, initial=USUAL_SEEDLINGS
    )
    sure_percent = forms.IntegerField(
        label="How surely, %", min_value=1, max_value=99, initial=USUAL_SURE_PERCENT
    )


class PretreatmentForm(forms.Form):
    kind = forms.ChoiceField(
        label="What was done", choices=[("", "nothing"), *Pretreatment.Kind.choices], required=False
    )
    days = DecimalField(max_digits=6, decimal_places=2, min_value=0, required=False)
    temperature_celsius = _celsius("At, °C")
    concentration_ppm = forms.IntegerField(
        label="Concentration, ppm", min_value=1, max_value=100_000, required=False
    )
    note = forms.CharField(max_length=200, required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        rest = {name: value for name, value in cleaned.items() if name != "kind"}
        if not cleaned.get("kind") and any(value not in (None, "") for value in rest.values()):
            self.add_error("kind", "Say what was done.")
        if cleaned.get("concentration_ppm") and cleaned.get("kind") not in {
            Pretreatment.Kind.GIBBERELLIC_ACID,
            Pretreatment.Kind.OTHER,
        }:
            self.add_error("concentration_ppm", "A concentration belongs to gibberellic acid.")
        return cleaned


PretreatmentFormSet = forms.formset_factory(
    PretreatmentForm, extra=PRETREATMENT_STEPS, max_num=PRETREATMENT_STEPS
)


def pretreatments_of(steps: Any) -> list[Pretreatment]:
    """Return the steps that were filled in, in order, unsaved."""
    return [
        Pretreatment(**form.cleaned_data) for form in steps.forms if form.cleaned_data.get("kind")
    ]


class CountForm(FactsForm, KeyedForm):
    """A look at one pot."""

    declared = COUNT
    field_order = ("replicate", "counted_on", "number", "typed_as", "note")

    replicate = forms.TypedChoiceField(label="Pot", coerce=int)
    number = forms.IntegerField(label="Seedlings", min_value=0)
    typed_as = forms.ChoiceField(
        label="This number is",
        choices=Count.TypedAs.choices,
        widget=forms.RadioSelect,
        initial=Count.TypedAs.NEW,
    )

    def __init__(self, *args: Any, pots: list[Replicate], **options: Any) -> None:
        super().__init__(*args, **options)
        self.pots = {pot.pk: pot for pot in pots}
        field = self.fields["replicate"]
        assert isinstance(field, forms.TypedChoiceField)  # noqa: S101  narrows the type only
        field.choices = [
            (pot.pk, f"pot {pot.position}, {pot.germinated} of {pot.seeds} so far") for pot in pots
        ]
        if len(pots) == 1:
            field.initial = pots[0].pk
            field.widget = forms.HiddenInput()

    def clean_replicate(self) -> Replicate:
        """Return the pot itself, so that each way in hands the act what it asks for."""
        return self.pots[self.cleaned_data["replicate"]]


class GridForm(forms.Form):
    """The day and the way of counting of a whole round past the pots."""

    counted_on = day_field(label="Looked at on")
    typed_as = forms.ChoiceField(
        label="The numbers are",
        choices=Count.TypedAs.choices,
        widget=forms.RadioSelect,
        initial=Count.TypedAs.NEW,
    )


class PotForm(KeyedForm):
    """One line of the grid; empty means not looked at, 0 means nothing new."""

    number = forms.IntegerField(label="Seedlings", min_value=0, required=False)

    def __init__(self, *args: Any, pot: Replicate, **options: Any) -> None:
        options["prefix"] = f"pot-{pot.pk}"
        super().__init__(*args, **options)
        self.fields["number"].widget.attrs.update(
            {"inputmode": "numeric", "data-seeds": pot.seeds, "data-germinated": pot.germinated}
        )


class CloseForm(forms.Form):
    closed_on = day_field(label="Closed on")
    reason = forms.CharField(label="Why", max_length=200, required=False)
    left_fresh = forms.IntegerField(label="Left: firm and fresh", min_value=0, required=False)
    left_dead = forms.IntegerField(label="Left: dead", min_value=0, required=False)
    left_abnormal = forms.IntegerField(
        label="Seedlings that are abnormal", min_value=0, required=False
    )


class ReopenForm(forms.Form):
    why = forms.CharField(label="Why is it opened again?", max_length=200)


class SeedlingForm(forms.Form):
    names = forms.CharField(
        label="Names or numbers of the plants kept",
        widget=forms.Textarea,
        help_text="One a line, as on their labels: 26-07-1. A seedling does not"
        " carry its parent's name.",
    )
    pricked_out_on = day_field(label="Pricked out on", required=False)

    def clean_names(self) -> list[str]:
        return [line.strip() for line in self.cleaned_data["names"].splitlines() if line.strip()]


class CompareForm(forms.Form):
    other = NumberField(kind="sowing", label="Compare with sowing")


class CompareLotsForm(forms.Form):
    other = NumberField(kind="lot", label="Compare with lot")
