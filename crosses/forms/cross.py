"""What a grower says of a cross."""

import datetime
from collections.abc import Sequence
from functools import partial
from typing import Any

from django import forms

from crosses.base.fact_forms import FactsForm
from crosses.base.pages import KeyedForm
from crosses.base.refusal import Refused
from crosses.facts.cross import CROSS
from crosses.forms.fields import cross_field, let_find, plant_field
from crosses.models import Cross, Plant
from crosses.queries.finding import find_cross, find_plant


class CrossForm(FactsForm, KeyedForm):
    """A cross to plan."""

    declared = CROSS
    field_order = (
        "seed_parent",
        "pollen",
        "pollen_parent",
        "mixture",
        "season",
        "own_number",
        "reciprocal_of",
    )

    seed_parent = plant_field(label="Seed parent", help_text="Number or name.")
    pollen_parent = plant_field(
        required=False, label="Pollen parent", help_text="If the pollen is from one plant."
    )
    mixture = forms.CharField(
        required=False,
        label="Plants of a mixture",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="One plant a line; with parts if they differ: 2 parts P000012-34.",
    )
    own_number = forms.CharField(
        required=False, max_length=40, label="Your number", help_text="Empty: the next one."
    )
    reciprocal_of = cross_field(
        required=False, label="Reciprocal of", help_text="The cross made the other way round."
    )

    def __init__(self, *args: Any, user: Any, today: datetime.date, **options: Any) -> None:
        super().__init__(*args, **options)
        self.user = user
        self.fields["season"].initial = today.year
        let_find(self, partial(find_plant, user, by_part=True), "seed_parent", "pollen_parent")
        let_find(self, partial(find_cross, user), "reciprocal_of")

    def clean_mixture(self) -> list[tuple[Plant, int]]:
        lines = [line.strip() for line in self.cleaned_data["mixture"].splitlines()]
        try:
            return [self._part(line) for line in lines if line]
        except Refused as no:
            raise forms.ValidationError(no.message) from no

    def _part(self, line: str) -> tuple[Plant, int]:
        head, word, rest = line.partition(" part")
        if word and head.isascii() and head.isdigit():
            return find_plant(self.user, rest.removeprefix("s").strip(), "mixture"), int(head)
        return find_plant(self.user, line, "mixture"), 1

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        one_plant = cleaned.get("pollen") == Cross.Pollen.PLANT
        if not one_plant and cleaned.get("pollen_parent"):
            self.add_error(
                "pollen_parent", "Leave this empty, or choose that the pollen is from one plant."
            )
        return cleaned

    def facts(self) -> dict[str, Any]:
        beside = ("seed_parent", "pollen_parent", "mixture", "reciprocal_of", "client_key")
        return super().facts() | {name: self.cleaned_data[name] for name in beside}


class ChangeCrossForm(FactsForm):
    """What may be corrected on a cross."""

    declared = CROSS
    is_for_making = False
    field_order = ("own_number", "aim", "visibility")

    why = forms.CharField(max_length=100, required=False, label="Why it is changed")


class FindCrossesForm(forms.Form):
    """What to look for in the list of crosses."""

    q = forms.CharField(required=False, label="Number or parent", max_length=100)
    season = forms.ChoiceField(required=False, label="Season")
    whose = forms.ChoiceField(
        required=False, choices=[("", "everybody's"), ("own", "only my own")], label="Whose"
    )

    def __init__(self, *args: Any, seasons: Sequence[int], **options: Any) -> None:
        super().__init__(*args, **options)
        season = self.fields["season"]
        assert isinstance(season, forms.ChoiceField)  # noqa: S101  declared above
        season.choices = [("", "all"), *((str(year), str(year)) for year in seasons)]

    def asked(self) -> dict[str, Any]:
        """Return what the list is asked for; what cannot be read is not asked."""
        self.full_clean()
        asked = self.cleaned_data
        return {
            "words": asked.get("q", ""),
            "season": int(asked["season"]) if asked.get("season") else None,
            "own_only": asked.get("whose") == "own",
        }
