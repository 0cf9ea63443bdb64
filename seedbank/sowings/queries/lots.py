"""What is known of a lot's germination, and what to expect of it."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from crosses.calc.rates import Share, wilson
from seedbank.bank.models import Lot
from seedbank.calc.germination import (
    Pooled,
    SeedsToSow,
    expect_next_sowing,
    pool_sowings,
    pooled_share,
    seeds_to_sow,
)
from seedbank.calc.viability.constants import published_constants
from seedbank.calc.viability.fit import SeedTest
from seedbank.calc.viability.outlook import Outlook, Storage, expected_today
from seedbank.members.models import Member
from seedbank.sowings.models import Sowing
from seedbank.sowings.queries.counted import (
    counted_sowings,
    results_by_lot,
    results_of,
    with_counts,
)

# What a grower asks most: a handful of plants, and not to be disappointed.
USUAL_SEEDLINGS = 5
USUAL_CONFIDENCE = 0.9
# From so many growers on a share says nothing of any one of them, not even to a donor who knows
# whom two packets went to.
FEWEST_GROWERS = 3


@dataclass(frozen=True)
class LotGermination:
    """All counted sowings of a lot that a viewer may see."""

    pooled: Pooled | None
    share: Share | None
    sowings: tuple[tuple[Sowing, Share], ...]
    advice: SeedsToSow | None
    advice_basis: str


def share_of(results: Iterable[tuple[int, int]]) -> Share | None:
    """Pool (came, sown) into one share, its interval allowing for the scatter between sowings."""
    counted = list(results)
    return pooled_share(counted) if counted else None


def germination_of_lots(lots: Iterable[int], viewer: Member) -> dict[int, Share]:
    """Return the germination so far of each lot that has any, with its interval; one query."""
    shares = {lot: share_of(results) for lot, results in results_by_lot(lots, viewer).items()}
    return {lot: share for lot, share in shares.items() if share is not None}


def lot_germination(lot: Lot, viewer: Member) -> LotGermination:
    sowings = counted_sowings(viewer).filter(packet__lot=lot)
    results = results_of(sowings)
    advice, basis = sowing_advice(lot, viewer)
    return LotGermination(
        pooled=pool_sowings(results) if results else None,
        share=share_of(results),
        sowings=tuple(
            (sowing, wilson(sowing.germinated, sowing.seeds_looked_at))
            for sowing in _listed(sowings)
        ),
        advice=advice,
        advice_basis=basis,
    )


def _listed(sowings: QuerySet[Any]) -> QuerySet[Any]:
    related = with_counts(sowings).select_related("grower")
    return related.prefetch_related("pretreatments").order_by("sown_on", "pk")


def sowing_advice(
    lot: Lot,
    viewer: Member,
    *,
    seedlings: int = USUAL_SEEDLINGS,
    confidence: float = USUAL_CONFIDENCE,
) -> tuple[SeedsToSow | None, str]:
    """Say how many seeds to sow for so many seedlings: from the lot, else its kind, else not."""
    counted = counted_sowings(viewer)
    kinds = [("this lot", counted.filter(packet__lot=lot))]
    if lot.harvest is not None:
        kinds.append(
            ("this cross", counted.filter(packet__lot__harvest__cross=lot.harvest.cross_id))
        )
    if lot.taxon_id:
        kinds.append(
            (f"other lots of {lot.taxon}", counted.filter(packet__lot__taxon=lot.taxon_id))
        )
    for words, sowings in kinds:
        results = results_of(sowings)
        if any(came for came, _sown in results):
            advice = seeds_to_sow(seedlings, confidence, expect_next_sowing(results))
            seeds = sum(sown for _came, sown in results)
            number = f"{len(results)} sowing{'' if len(results) == 1 else 's'} of {seeds} seeds"
            return advice, f"from {number} of {words}"
    return None, "nothing of its kind has come up yet, so no number can be given"


def storage_outlook(lot: Lot, viewer: Member, today: datetime.date) -> Outlook | None:
    """Say what to expect of a lot today, from its own sowings; None where its age is not known."""
    if lot.collected_on is None or lot.collected_on > today:
        return None
    rows = (
        counted_sowings(viewer)
        .filter(packet__lot=lot, sown_on__gte=lot.collected_on)
        .order_by("sown_on", "pk")
        .values_list("sown_on", "germinated", "seeds_looked_at")
    )
    tests = [
        SeedTest((sown_on - lot.collected_on).days, germinated, sown)
        for sown_on, germinated, sown in rows
    ]
    taxon = lot.taxon.name if lot.taxon else ""
    constants = published_constants(taxon) if taxon else ()
    return expected_today(
        tests,
        taxon=taxon or lot.name_text,
        constants=constants[0] if constants else None,
        storage=Storage(
            moisture_percent=_number(lot.storage_moisture_percent),
            temperature_celsius=_number(lot.storage_temperature_celsius),
        ),
        stored_on=lot.collected_on,
        today=today,
    )


def _number(value: object) -> float | None:
    return None if value is None else float(str(value))
