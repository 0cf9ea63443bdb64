"""Germination history: a row a sowing, as one reader may see it, without anybody's name."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import QuerySet

from crosses.calc.rates import Share, sentence, wilson
from crosses.models import Cross
from crosses.queries.kinds import genus_written
from crosses.queries.parentage import Parentage, parentage_of
from seedbank.bank.models import Lot
from seedbank.calc.germination import Counts, GerminationIndices, describe
from seedbank.members.models import Member
from seedbank.sowings.models import Sowing
from seedbank.sowings.queries.counted import counts_of_sowing, pots_left_out

MEAN_TIME = (
    "Sum of seedlings times the day on which they were found, over all that came. A seed came"
    " between two looks, so the true mean lies between the two values."
)
MEDIAN_TIME = (
    "Day on which the line through the running totals reaches (N + 1) / 2 of the N that came"
    " (Coolbear and others 1984), N / 2 of them (Farooq and others 2005), or half of all seeds"
    " sown."
)
LOOKS = "Seedlings newly seen on each day somebody looked, all pots of the sowing together."
NOT_LOOKED = "Nobody has looked at this sowing yet, so nothing is known: that is not 0 %."
NOTHING_CAME = "Nothing has come up, so there is no time to give."


@dataclass(frozen=True)
class DayLooked:
    day: int
    counted_on: datetime.date
    newly_seen: int
    total: int


@dataclass(frozen=True)
class SeedAge:
    """Days from harvest to sowing; between two numbers where only the year of harvest is known."""

    days_low: int
    days_high: int
    how: str


@dataclass(frozen=True)
class How:
    """How the numbers of a row were computed, each in a sentence."""

    parents: str
    seed_age: str
    looks: str
    share: str
    mean_germination_time: str
    median_time: str


@dataclass(frozen=True)
class HistoryRow:
    """One sowing; `share` and `indices` are None where nobody has looked."""

    sowing: Sowing
    lot: Lot
    genus: str
    parentage: Parentage | None
    parents_certainty_percent: int | None
    seed_age: SeedAge
    grower_code: str | None
    is_mine: bool
    pots: int
    looks: tuple[DayLooked, ...]
    share: Share | None
    indices: GerminationIndices | None
    how: How


def with_history(sowings: QuerySet[Sowing]) -> QuerySet[Sowing]:
    """Load what rows are made from: the same few queries, however many sowings."""
    return sowings.select_related(
        "grower",
        "packet__lot__taxon",
        "packet__lot__harvest__cross__seed_parent",
        "packet__lot__harvest__cross__pollen_parent",
    ).prefetch_related(
        "pretreatments",
        "replicates__counts",
        "packet__lot__harvest__cross__pollen_shares__plant",
    )


def history_rows(sowings: Iterable[Sowing], viewer: Member) -> list[HistoryRow]:
    """Turn sowings from `with_history` into rows."""
    known = list(sowings)
    crosses = [cross for sowing in known if (cross := cross_of(sowing)) is not None]
    parentages = parentage_of(viewer, crosses)
    return [_row(sowing, parentages, viewer) for sowing in known]


def cross_of(sowing: Sowing) -> Cross | None:
    harvest = sowing.packet.lot.harvest
    return harvest.cross if harvest else None


def genus_of(lot: Lot) -> str:
    """Return the genus of a lot: of its taxon, else the word its written name begins with."""
    return lot.taxon.genus if lot.taxon else genus_written(lot.name_text)


def seed_age(collected_on: datetime.date | None, year: int, sown_on: datetime.date) -> SeedAge:
    """Return how old seed was when it was sown.

    A lot of which only the year is known was harvested on some day of that year, and before it
    was sown.
    """
    if collected_on is not None:
        days = (sown_on - collected_on).days
        return SeedAge(days, days, f"From the harvest on {collected_on} to the sowing.")
    last = min(datetime.date(year, 12, 31), sown_on)
    first = min(datetime.date(year, 1, 1), last)
    return SeedAge(
        (sown_on - last).days,
        (sown_on - first).days,
        f"The day of harvest is not known: some day of {year}.",
    )


def _row(sowing: Sowing, parentages: dict[int, Parentage], viewer: Member) -> HistoryRow:
    lot, cross = sowing.packet.lot, cross_of(sowing)
    counts = counts_of_sowing(sowing)
    share = wilson(counts.germinated, counts.sown) if counts else None
    age = seed_age(lot.collected_on, lot.year, sowing.sown_on)
    came = bool(counts and counts.germinated)
    without_times = NOTHING_CAME if counts else NOT_LOOKED
    return HistoryRow(
        sowing=sowing,
        lot=lot,
        genus=genus_of(lot),
        parentage=parentages[cross.pk] if cross else None,
        parents_certainty_percent=lot.harvest.certainty_percent if lot.harvest else None,
        seed_age=age,
        grower_code=sowing.grower.donor_code,
        is_mine=sowing.grower_id == viewer.pk,
        pots=len(sowing.replicates.all()),
        looks=_looks(sowing, counts) if counts else (),
        share=share,
        indices=describe(counts) if counts else None,
        how=How(
            parents=_how_parents(lot),
            seed_age=age.how,
            looks=LOOKS if counts else NOT_LOOKED,
            share=_how_share(share, sowing),
            mean_germination_time=MEAN_TIME if came else without_times,
            median_time=MEDIAN_TIME if came else without_times,
        ),
    )


def _looks(sowing: Sowing, counts: Counts) -> tuple[DayLooked, ...]:
    return tuple(
        DayLooked(int(day), sowing.sown_on + datetime.timedelta(int(day)), int(new), int(total))
        for day, new, total in zip(counts.days, counts.new, counts.totals, strict=True)
    )


def _how_parents(lot: Lot) -> str:
    if lot.harvest is None:
        return "No cross is recorded for this seed; the name is as its donor wrote it."
    return (
        f"Known from {lot.harvest.get_identified_by_display()};"
        f" {lot.harvest.certainty_percent} % certain. Seed parent first."
    )


def _how_share(share: Share | None, sowing: Sowing) -> str:
    if share is None:
        return NOT_LOOKED
    said = [f"{sentence(share)} of the seeds sown, with the 95 % score interval (Wilson)."]
    if left_out := pots_left_out(sowing):
        said.append(left_out)
    if sowing.closed_on is None:
        said.append("Still open: what has not come yet is waiting, not failed.")
    return " ".join(said)
