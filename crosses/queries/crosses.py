"""What the pages of crosses show."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.calc.rates import Share
from crosses.models import Cross, Harvest, Plant
from crosses.queries.took import take_in_row, took_and_decided
from crosses.queries.written import cross_formula, parents_of

_STANDING = Q(pollinations__withdrawn_at=None)


@dataclass(frozen=True)
class CrossRow:
    """A cross in a list: its formula, how many flowers took, and the seed harvested."""

    cross: Cross
    formula: str
    flowers: int
    take: Share
    harvested: int
    seeds: int | None


def with_parents(crosses: QuerySet[Cross]) -> QuerySet[Cross]:
    """Load what a formula is written from."""
    return crosses.select_related("grower", "seed_parent", "pollen_parent").prefetch_related(
        "pollen_shares__plant"
    )


def with_figures(crosses: QuerySet[Cross]) -> QuerySet[Cross]:
    """Add up each cross's flowers, capsules and seeds."""
    seeds = (
        Harvest.objects.filter(cross=OuterRef("pk"), withdrawn_at=None)
        .order_by()
        .values("cross")
        .annotate(seeds=Sum("seeds"))
        .values("seeds")
    )
    return with_parents(crosses).annotate(
        flowers_in_all=Coalesce(Sum("pollinations__flowers", filter=_STANDING), 0),
        **took_and_decided(),
        harvested_in_all=Coalesce(Sum("pollinations__capsules_harvested", filter=_STANDING), 0),
        seeds_in_all=Subquery(seeds),
    )


def cross_rows(crosses: Iterable[Any]) -> list[CrossRow]:
    """Turn crosses loaded by `with_figures` into rows."""
    return [
        CrossRow(
            cross=cross,
            formula=cross_formula(cross),
            flowers=cross.flowers_in_all,
            take=take_in_row(cross),
            harvested=cross.harvested_in_all,
            seeds=cross.seeds_in_all,
        )
        for cross in crosses
    ]


def seasons_of(viewer: Any, *, own_only: bool = False) -> list[int]:
    """Return the seasons of the crosses a reader may see, or of their own; latest first."""
    crosses = crosses_visible_to(viewer)
    if own_only:
        crosses = crosses.filter(grower=viewer, withdrawn_at=None)
    return list(crosses.order_by("-season").values_list("season", flat=True).distinct())


def crosses_list(
    viewer: Any, *, season: int | None = None, words: str = "", own_only: bool = False
) -> QuerySet[Cross]:
    """Return standing crosses, latest season first, one's own first within it."""
    crosses = crosses_visible_to(viewer).filter(withdrawn_at=None)
    if season is not None:
        crosses = crosses.filter(season=season)
    if own_only:
        crosses = crosses.filter(grower=viewer)
    if words:
        crosses = crosses.filter(
            Q(number__icontains=words)
            | Q(own_number__icontains=words)
            | Q(seed_parent__name_text__icontains=words)
            | Q(pollen_parent__name_text__icontains=words)
        )
    return with_figures(crosses).order_by("-season", "own_number", "number")


def crosses_of_plant(viewer: Any, plant: Plant) -> tuple[list[CrossRow], list[CrossRow]]:
    """Return the crosses in which a plant bore seed, and those in which it gave pollen."""
    crosses = crosses_visible_to(viewer).filter(withdrawn_at=None)
    as_seed = with_figures(crosses.filter(seed_parent=plant))
    gave_pollen = crosses.filter(Q(pollen_parent=plant) | Q(pollen_shares__plant=plant))
    as_pollen = with_figures(crosses.filter(pk__in=gave_pollen.values("pk")))
    return cross_rows(as_seed), cross_rows(as_pollen)


def reciprocal_of(viewer: Any, cross: Cross) -> Cross | None:
    """Return the cross made the other way round, whichever of the two names the other."""
    visible = crosses_visible_to(viewer)
    return visible.filter(Q(pk=cross.reciprocal_of_id) | Q(reciprocal_of=cross)).first()


@dataclass(frozen=True)
class ParentLink:
    """A parent on a cross's page; it leads to the plant only where the reader may see that."""

    plant: Plant
    part: str
    visible: bool


def parent_links(viewer: Any, cross: Cross) -> list[ParentLink]:
    """Return the seed parent, then each plant the pollen was from."""
    parents = parents_of(cross)
    is_mixture = len(parents.pollen) > 1
    given = [(plant, str(part) if is_mixture else "") for plant, part in parents.pollen]
    in_order = [(parents.seed_parent, ""), *given]
    shown = set(
        plants_visible_to(viewer)
        .filter(pk__in=[plant.pk for plant, _part in in_order])
        .values_list("pk", flat=True)
    )
    return [ParentLink(plant, part, plant.pk in shown) for plant, part in in_order]


def seedlings_of(viewer: Any, cross: Cross) -> QuerySet[Plant]:
    return plants_visible_to(viewer).filter(raised_from=cross, withdrawn_at=None)
