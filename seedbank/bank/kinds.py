"""Which kinds are in a lot, and what can hurt who handles its seed."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from crosses.models import PollenShare
from crosses.queries.kinds import (
    Kinds,
    distinct,
    hazards_of,
    hazards_of_genera,
    kinds_above,
    kinds_named,
)
from seedbank.bank.models import Lot


@dataclass(frozen=True, slots=True)
class LotKinds:
    """What a lot is, and what the plants it comes from are, the nearest first."""

    own: Kinds
    ancestors: Kinds


def kinds_of_lots(lots: Iterable[Lot]) -> dict[int, LotKinds]:
    """Return the kinds by lot, ancestors as far back as they are recorded.

    The lots come with their taxon loaded; a few queries a generation, however many lots.
    """
    known = list(lots)
    parents = _parents_of_lots([lot.pk for lot in known])
    above = kinds_above({number for numbers in parents.values() for number in numbers})
    return {
        lot.pk: LotKinds(
            own=kinds_named(lot.name_text, lot.taxon),
            ancestors=distinct(kind for number in parents[lot.pk] for kind in above[number]),
        )
        for lot in known
    }


def cautions_of_lots(lots: Iterable[Lot]) -> dict[int, str]:
    """Return what to beware of, by lot: the lot's own note, else what its kinds and ancestors bear.

    A cross with a poisonous plant far back says so, and names it.
    """
    known = list(lots)
    kinds, of_genus = kinds_of_lots(known), hazards_of_genera()
    return {lot.pk: lot.hazard_note or _in_words(kinds[lot.pk], of_genus) for lot in known}


def caution_of(lot: Lot) -> str:
    return cautions_of_lots([lot])[lot.pk]


def _in_words(kinds: LotKinds, of_genus: dict[str, str]) -> str:
    own = hazards_of(kinds.own, of_genus)
    inherited = hazards_of(kinds.ancestors, of_genus)
    return " ".join(
        [
            *own,
            *(
                f"{note} (From {name} among its ancestors.)"
                for note, name in inherited.items()
                if note not in own
            ),
        ]
    )


def _parents_of_lots(lots: list[int]) -> dict[int, list[str]]:
    """Return the numbers of the plants that seed was raised from, seed parent first."""
    parents: dict[int, list[str]] = {lot: [] for lot in lots}
    crosses: dict[int, list[int]] = defaultdict(list)
    raised = Lot.objects.filter(pk__in=lots, harvest__isnull=False)
    for lot, cross, seed_parent, pollen_parent in raised.values_list(
        "pk",
        "harvest__cross_id",
        "harvest__cross__seed_parent__number",
        "harvest__cross__pollen_parent__number",
    ):
        parents[lot] += [number for number in (seed_parent, pollen_parent) if number]
        crosses[cross].append(lot)
    shares = PollenShare.objects.filter(cross__in=crosses).order_by("pk")
    for cross, number in shares.values_list("cross_id", "plant__number"):
        for lot in crosses[cross]:
            parents[lot].append(number)
    return parents
