"""Whom to cross a plant with: what may take, how close they are, and what to think of."""

from dataclasses import dataclass
from typing import Any

from crosses.access import plants_visible_to
from crosses.calc.fertility import PairChance, rank_partners
from crosses.calc.fertility.pairs import PlantId
from crosses.calc.pedigree.kinship import kinship_matrix
from crosses.calc.rates import Share
from crosses.models import Plant
from crosses.queries.cautions import PairCaution, cautions_of_pair
from crosses.queries.fertility import pair_facts, pair_model
from crosses.queries.pedigree import pedigree_above

MOST_PARTNERS = 200


@dataclass(frozen=True)
class Partner:
    """A plant that might be the other parent.

    `chance` is that a flower of this pair takes in this direction, None where a figure would be
    guesswork; `tried` what the very pair did;
    `offspring_inbreeding` what their seedlings would have by the known pedigree.
    """

    plant: Plant
    chance: PairChance | None
    tried: Share
    offspring_inbreeding: float
    reasons: tuple[str, ...]
    cautions: list[PairCaution]

    @property
    def is_tried(self) -> bool:
        return self.tried.n > 0


def partners_of(
    viewer: Any, plant: Plant, *, as_seed_parent: bool, own_only: bool
) -> list[Partner]:
    """Return partners for a plant, best first.

    First the pairs tried already; within both kinds those with nothing to warn of, for what the
    warnings warn of shows in the society's own flowers only when many were made. Then as
    `rank_partners` orders them.
    """
    others = _candidates(viewer, plant, own_only=own_only)
    candidates: dict[PlantId, Plant] = {one.number: one for one in others}
    pairs = {
        number: (plant, one) if as_seed_parent else (one, plant)
        for number, one in candidates.items()
    }
    ranked = rank_partners(
        plant.number,
        candidates,
        pair_model(viewer),
        _kinship(plant, others),
        as_seed_parent=as_seed_parent,
        facts={number: pair_facts(*pair) for number, pair in pairs.items()},
    )
    partners = [
        Partner(
            plant=candidates[one.plant],
            chance=one.chance,
            tried=one.tried,
            offspring_inbreeding=one.offspring_inbreeding,
            reasons=one.reasons,
            cautions=cautions_of_pair(*pairs[one.plant]),
        )
        for one in ranked
    ]
    return sorted(
        partners, key=lambda one: (one.tried.n == 0, len(one.cautions), one.chance is None)
    )


def _kinship(plant: Plant, others: list[Plant]) -> dict[PlantId, float]:
    numbers = [plant.number, *(other.number for other in others)]
    related = kinship_matrix(pedigree_above(numbers), numbers)[0, 1:].tolist()
    return dict(zip(numbers[1:], related, strict=True))


def _candidates(viewer: Any, plant: Plant, *, own_only: bool) -> list[Plant]:
    plants = plants_visible_to(viewer).filter(withdrawn_at=None, died_on=None)
    plants = plants.exclude(pk=plant.pk).select_related(
        "taxon",
        "keeper",
        "propagated_from__taxon",
        "propagated_from__propagated_from__propagated_from",
        "raised_from__seed_parent__taxon",
        "raised_from__seed_parent__propagated_from__taxon",
        "raised_from__seed_parent__raised_from__seed_parent__taxon",
    )
    if own_only:
        plants = plants.filter(keeper=viewer)
    return list(plants.order_by("-pk")[:MOST_PARTNERS])
