"""What a grower says of a harvest."""

import datetime
import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms

from crosses.actions.harvest import capsules_field
from crosses.base.fact_forms import FactsForm
from crosses.base.pages import KeyedForm
from crosses.base.typed import DecimalField
from crosses.facts.harvest import HARVEST
from crosses.models import Harvest, Pollination
from crosses.queries.harvests import seeds_by_weight

_SAMPLE = re.compile(r"(\d{1,7})\s+(\d{1,5}(?:[.,]\d{1,4})?)(?:\s*g)?")


def read_samples(text: str) -> list[tuple[int, Decimal]]:
    """Read one sample a line, seeds then grams; a decimal comma is understood."""
    samples = []
    for line in filter(None, map(str.strip, text.splitlines())):
        found = _SAMPLE.fullmatch(line)
        if found is None:
            raise forms.ValidationError(
                f"'{line}' is not a sample: write seeds, a space, grams, as in 1000 0.41."
            )
        samples.append((int(found[1]), Decimal(found[2].replace(",", "."))))
    return samples


class SeedsForm(FactsForm, KeyedForm):
    """How many seeds there are, and how that is known."""

    declared = HARVEST
    is_for_making = False

    samples = forms.CharField(
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
        label="Weighed samples",
        help_text="One a line: seeds counted, then grams. 1000 0.41",
    )
    clean_grams = DecimalField(
        required=False,
        min_value=Decimal("0.0001"),
        max_digits=9,
        decimal_places=4,
        label="All the clean seed, grams",
        help_text="With the samples put back.",
    )

    def __init__(self, *args: Any, correcting: Harvest | None = None, **options: Any) -> None:
        super().__init__(*args, correcting=correcting, **options)
        # Another count begins empty; what else stands there is kept.
        for name, start in (("seed_counting", Harvest.SeedCounting.COUNTED), ("seeds", None)):
            self.fields[name].initial = start
        self.fields["clean_grams"].initial = None

    def clean_samples(self) -> list[tuple[int, Decimal]]:
        return read_samples(self.cleaned_data["samples"])

    def estimate(self) -> str:
        """Return the sentence of what was weighed, before anything is written down."""
        weighed = self.cleaned_data
        return seeds_by_weight(weighed["samples"], weighed["clean_grams"]).sentence

    def facts(self) -> dict[str, Any]:
        return super().facts() | {"samples": self.cleaned_data["samples"]}


class HarvestForm(SeedsForm):
    """Capsules taken of one cross on one day."""

    is_for_making = True

    def __init__(
        self,
        *args: Any,
        open_flowers: Sequence[tuple[Pollination, int]],
        today: datetime.date,
        **options: Any,
    ) -> None:
        super().__init__(*args, **options)
        self.fields["harvested_on"].initial = today
        # Capsules come in first, and are cleaned and counted weeks later.
        self.fields["seed_counting"].initial = Harvest.SeedCounting.NOT_YET
        self.open_flowers = open_flowers
        alone = len(open_flowers) == 1
        for pollination, still_open in open_flowers:
            self.fields[capsules_field(pollination)] = forms.IntegerField(
                required=False,
                min_value=0,
                max_value=999,
                initial=1 if alone and still_open == 1 else None,
                label=f"Capsules of {pollination.number}",
                help_text=f"Pollinated {pollination.pollinated_on:%-d %b %Y}; {still_open} of"
                f" {pollination.flowers} flowers can still bear one.",
            )

    def capsule_fields(self) -> list[forms.BoundField]:
        return [self[capsules_field(pollination)] for pollination, _open in self.open_flowers]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.errors and not self.capsules():
            self.add_error(None, "How many capsules, of which flowers?")
        return cleaned

    def capsules(self) -> list[tuple[Pollination, int]]:
        typed = (
            (pollination, self.cleaned_data.get(capsules_field(pollination)))
            for pollination, _open in self.open_flowers
        )
        return [(pollination, number) for pollination, number in typed if number]
