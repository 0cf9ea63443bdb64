"""The smallest valid records of the grower's side; made by the acts that make them in life."""

import datetime
from typing import Any

import factory

from crosses.actions.cross import plan_cross
from crosses.actions.plant import add_plant
from crosses.actions.pollination import log_pollination
from crosses.models import Cross, Plant, Pollination, Taxon
from tests.conftest import NOON


class TaxonFactory(factory.django.DjangoModelFactory):
    """Primula veris, or what is asked for."""

    class Meta:
        model = Taxon
        django_get_or_create = ("genus", "species")

    genus = "Primula"
    species = "veris"


def make_plant(keeper: Any, name_text: str = "Primula 'Oddwater Lemon'", **facts: Any) -> Plant:
    return add_plant(keeper=keeper, by=keeper, at=NOON, name_text=name_text, **facts)


def make_cross(grower: Any, **facts: Any) -> Cross:
    """Plan a cross of two new plants, unless its parents are given."""
    wanted: dict[str, Any] = {"season": 2026, "own_number": ""} | facts
    wanted.setdefault("seed_parent", None)
    if wanted["seed_parent"] is None:
        wanted["seed_parent"] = make_plant(grower, "Primula 'Quillfeather Smoke'")
    if wanted.get("pollen", Cross.Pollen.PLANT) == Cross.Pollen.PLANT:
        wanted.setdefault("pollen_parent", None)
        if wanted["pollen_parent"] is None:
            wanted["pollen_parent"] = make_plant(grower, "Primula 'Oddwater Lemon'")
    return plan_cross(grower=grower, by=grower, at=NOON, **wanted)


def make_pollination(grower: Any, cross: Cross | None = None, **facts: Any) -> Pollination:
    wanted: dict[str, Any] = {"pollinated_on": datetime.date(2026, 4, 12)} | facts
    return log_pollination(cross=cross or make_cross(grower), by=grower, at=NOON, **wanted)
