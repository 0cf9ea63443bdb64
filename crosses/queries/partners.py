"""Whom to cross a plant with: what was tried, how close they are, and what to think of."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, Sum

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.calc.pedigree.kinship import kinship_matrix
from crosses.calc.rates import Share, wilson
from crosses.models import Cross, Plant, Pollination
from crosses.queries.cautions import PairCaution, cautions_of_pair
from crosses.queries.pedigree import pedigree_above

MOST_PARTNERS = 200

Attempts = dict[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True)
class Partner:
    """A plant that might be the other parent.

    `tried` is this very pair in this direction, `fertility` the partner in its role with any other
    plant, `offspring_inbreeding` what their seedlings would have by the known pedigree.
    """

    plant: Plant
    tried: Share
    fertility: Share
    offspring_inbreeding: float
    cautions: list[PairCaution]


def partners_of(
    viewer: Any, plant: Plant, *, as_seed_parent: bool, own_only: bool
) -> list[Partner]:
    """Return partners for a plant, best first.

    First those with nothing to warn of, then the less related, then those of which more flowers
    took in that role: by the lower end of the interval, so that 2 of 3 does not outdo 18 of 20.
    """
    candidates = _candidates(viewer, plant, own_only=own_only)
    attempts = _attempts(viewer)
    pooled = _pooled(attempts, by_seed_parent=not as_seed_parent)
    numbers = [plant.number, *(candidate.number for candidate in candidates)]
    related = kinship_matrix(pedigree_above(numbers), numbers)[0, 1:].tolist()
    partners = []
    for candidate, closeness in zip(candidates, related, strict=True):
        seed, pollen = (plant, candidate) if as_seed_parent else (candidate, plant)
        partners.append(
            Partner(
                plant=candidate,
                tried=wilson(*attempts.get((seed.pk, pollen.pk), (0, 0))),
                fertility=wilson(*pooled.get(candidate.pk, (0, 0))),
                offspring_inbreeding=closeness,
                cautions=cautions_of_pair(seed, pollen),
            )
        )
    return sorted(partners, key=_rank)


def _rank(partner: Partner) -> tuple[int, float, float, str]:
    return (
        len(partner.cautions),
        partner.offspring_inbreeding,
        -partner.fertility.low,
        partner.plant.name_text,
    )


def _candidates(viewer: Any, plant: Plant, *, own_only: bool) -> list[Plant]:
    plants = plants_visible_to(viewer).filter(withdrawn_at=None, died_on=None)
    plants = plants.exclude(pk=plant.pk).select_related(
        "taxon", "keeper", "propagated_from__propagated_from__propagated_from"
    )
    if own_only:
        plants = plants.filter(keeper=viewer)
    return list(plants.order_by("-pk")[:MOST_PARTNERS])


def _attempts(viewer: Any) -> Attempts:
    """Return capsules set and flowers decided of every pair, in both directions apart."""
    decided = Q(pollinations__withdrawn_at=None) & ~Q(pollinations__state=Pollination.State.WAITING)
    pairs = (
        crosses_visible_to(viewer)
        .filter(withdrawn_at=None, pollen=Cross.Pollen.PLANT)
        .order_by()
        .values_list("seed_parent", "pollen_parent")
        .annotate(
            capsules=Sum("pollinations__capsules_set", filter=decided),
            flowers=Sum("pollinations__flowers", filter=decided),
        )
    )
    return {
        (seed, pollen): (capsules or 0, flowers or 0) for seed, pollen, capsules, flowers in pairs
    }


def _pooled(attempts: Attempts, *, by_seed_parent: bool) -> dict[int, tuple[int, int]]:
    """Pool attempts by one parent, flower by flower."""
    found: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for (seed, pollen), counted in attempts.items():
        found[seed if by_seed_parent else pollen].append(counted)
    return {parent: _total(counted) for parent, counted in found.items()}


def _total(counted: Iterable[tuple[int, int]]) -> tuple[int, int]:
    pairs = list(counted)
    return sum(capsules for capsules, _f in pairs), sum(flowers for _c, flowers in pairs)
