"""What a keeper says of a plant."""

import datetime
from functools import partial
from typing import Any

from django import forms

from crosses.base.fact_forms import FactsForm
from crosses.facts.plant import PLANT
from crosses.forms.fields import cross_field, day_field, let_find, plant_field, taxon_field
from crosses.models import Plant
from crosses.queries.finding import find_cross, find_plant, find_taxon

_WILD_FACTS = ("wild_where", "wild_country", "wild_on", "wild_permit")


class PlantForm(FactsForm):
    """A plant to add or correct; which rules hold is asked of the act that writes it."""

    declared = PLANT
    # A form of its own asks for it.
    by_hand = ("died_on",)

    taxon = taxon_field(
        required=False, label="Taxon", help_text="Its species or hybrid, if the name does not say."
    )
    raised_from = cross_field(
        required=False, label="Raised from cross", help_text="Your number or the society's (C...)."
    )
    propagated_from = plant_field(
        required=False, label="Propagated from plant", help_text="Division, cutting or offset."
    )

    def __init__(self, *args: Any, user: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["name_text"].required = False
        let_find(self, partial(find_plant, user, by_part=True), "propagated_from")
        let_find(self, partial(find_cross, user), "raised_from")
        let_find(self, find_taxon, "taxon")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        # A plant in the greenhouse may be known by its label alone.
        cleaned["name_text"] = cleaned.get("name_text") or cleaned.get("own_label") or ""
        if not cleaned["name_text"] and "name_text" not in self.errors:
            self.add_error("name_text", "Write its name, or its label.")
        is_wild = cleaned.get("origin") == Plant.Origin.WILD
        if not is_wild and any(cleaned.get(name) for name in _WILD_FACTS):
            self.add_error(
                "origin", "Where, when and permit belong to a plant collected in the wild."
            )
        self._follow_descent(cleaned)
        return cleaned

    def _follow_descent(self, cleaned: dict[str, Any]) -> None:
        """Who names the cross or the source has said the origin with it."""
        if cleaned.get("raised_from") and cleaned.get("propagated_from"):
            self.add_error(
                "propagated_from",
                "A plant is raised from a cross or propagated from a plant, not both.",
            )
        origin = cleaned.get("origin")
        if origin == Plant.Origin.UNKNOWN and cleaned.get("raised_from"):
            cleaned["origin"] = Plant.Origin.CROSS
        if origin == Plant.Origin.UNKNOWN and cleaned.get("propagated_from"):
            cleaned["origin"] = Plant.Origin.DIVISION
        if cleaned.get("raised_from") and cleaned.get("origin") != Plant.Origin.CROSS:
            self.add_error("origin", "A plant raised from a recorded cross has that origin.")
        if cleaned.get("propagated_from") and cleaned.get("origin") != Plant.Origin.DIVISION:
            self.add_error("origin", "A division has that origin.")

    def facts(self) -> dict[str, Any]:
        return super().facts() | {name: self.cleaned_data[name] for name in PLANT.links}


class ChangePlantForm(PlantForm):
    """A correction says why."""

    is_for_making = False

    why = forms.CharField(max_length=100, required=False, label="Why it is changed")

    def __init__(self, *args: Any, plant: Plant, user: Any, **options: Any) -> None:
        options["initial"] = {
            "taxon": plant.taxon.name if plant.taxon else "",
            "raised_from": plant.raised_from.number if plant.raised_from else "",
            "propagated_from": plant.propagated_from.number if plant.propagated_from else "",
        }
        super().__init__(*args, user=user, correcting=plant, **options)


class DeadForm(forms.Form):
    """When a plant died."""

    died_on = day_field(label="Died on")
    why = forms.CharField(max_length=100, required=False, label="What happened")

    def __init__(self, *args: Any, today: datetime.date, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["died_on"].initial = today


class FindPlantsForm(forms.Form):
    """What to look for in the list of plants."""

    q = forms.CharField(required=False, label="Number, name, taxon or keeper", max_length=100)
    alive = forms.ChoiceField(
        required=False,
        choices=[("", "living"), ("dead", "dead"), ("all", "living and dead")],
        label="Show",
    )
    whose = forms.ChoiceField(
        required=False, choices=[("", "everybody's"), ("own", "only my own")], label="Whose"
    )

    def asked(self) -> dict[str, Any]:
        """Return what the list is asked for; what cannot be read is not asked."""
        self.full_clean()
        asked = self.cleaned_data
        return {
            "words": asked.get("q", ""),
            "alive": asked.get("alive", ""),
            "own_only": asked.get("whose") == "own",
        }


class OtherPlantForm(forms.Form):
    """The plant that another is held against."""

    other = plant_field(label="How close to", help_text="Number, label or name of the other plant.")

    def __init__(self, *args: Any, user: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        let_find(self, partial(find_plant, user, by_part=True), "other")


class FindPartnersForm(forms.Form):
    """Which partners are looked for."""

    role = forms.ChoiceField(
        required=False,
        choices=[("", "this plant bears the seed"), ("pollen", "this plant gives the pollen")],
        label="Role",
    )
    whose = forms.ChoiceField(
        required=False, choices=[("", "only my own"), ("all", "everybody's")], label="Whose"
    )

    def asked(self) -> dict[str, bool]:
        """Return what the list is asked for; what cannot be read is not asked."""
        self.full_clean()
        return {
            "as_seed_parent": self.cleaned_data.get("role") != "pollen",
            "own_only": self.cleaned_data.get("whose") != "all",
        }
