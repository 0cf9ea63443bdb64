"""The parents of many crosses at once, as one reader may see them."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.models import Cross
from crosses.queries.written import cross_formula, parents_of


@dataclass(frozen=True)
class NamedPlant:
    """A parent by its written name; its number only where the reader may open that plant."""

    name_text: str
    number: str | None
    part: str


@dataclass(frozen=True)
class Parentage:
    """A cross as the label of its seed tells it; its number only where the reader may open it."""

    cross: str | None
    formula: str
    seed_parent: NamedPlant
    pollen: str
    pollen_parents: tuple[NamedPlant, ...]


def parentage_of(viewer: Any, crosses: Iterable[Cross]) -> dict[int, Parentage]:
    """Return the parentage by cross: two queries, however many crosses.

    The crosses come with their parents and with pollen_shares__plant loaded.
    """
    known = {cross.pk: cross for cross in crosses}
    parents = {key: parents_of(cross) for key, cross in known.items()}
    plants = {
        plant.pk
        for found in parents.values()
        for plant in (found.seed_parent, *(plant for plant, _part in found.pollen))
    }
    open_plants = dict(plants_visible_to(viewer).filter(pk__in=plants).values_list("pk", "number"))
    open_crosses = dict(crosses_visible_to(viewer).filter(pk__in=known).values_list("pk", "number"))
    return {
        key: Parentage(
            cross=open_crosses.get(key),
            formula=cross_formula(cross),
            seed_parent=NamedPlant(
                parents[key].seed_parent.name_text, open_plants.get(cross.seed_parent_id), "1"
            ),
            pollen=cross.pollen,
            pollen_parents=tuple(
                NamedPlant(plant.name_text, open_plants.get(plant.pk), str(part))
                for plant, part in parents[key].pollen
            ),
        )
        for key, cross in known.items()
    }
