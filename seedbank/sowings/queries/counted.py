"""Counts as the reckoning wants them.

Of a pot that nobody has looked at nothing is known: its seeds are in no share, least of all as
seeds that did not come.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet, Sum

from seedbank.calc.germination import Counts, merge_looks, read_counts
from seedbank.members.models import Member
from seedbank.sowings.access import sowings_visible_to
from seedbank.sowings.models import Count, Replicate, Sowing
from seedbank.sowings.queries.narrowing import sowings_in_history


def with_counts(sowings: QuerySet[Sowing]) -> QuerySet[Sowing]:
    """Load sowings with their pots and counts: two more queries, however many sowings."""
    return sowings.prefetch_related("replicates__counts")


def looks_of_pot(pot: Replicate, sowing: Sowing) -> list[tuple[float, int]]:
    """Return (day after sowing, newly seen) of each look at a pot that was not withdrawn."""
    return [
        (float((count.counted_on - sowing.sown_on).days), count.newly_seen)
        for count in pot.counts.all()
        if not count.is_withdrawn
    ]


def counts_of_pot(pot: Replicate, sowing: Sowing) -> Counts | None:
    """Return a pot's counts, or None if nobody looked yet."""
    days, counts = merge_looks(looks_of_pot(pot, sowing))
    return read_counts(pot.seeds, days, counts) if days else None


def counts_of_sowing(sowing: Sowing) -> Counts | None:
    """Return all pots of a sowing that somebody looked at as one, or None if nobody looked yet."""
    looks = [(pot.seeds, looks_of_pot(pot, sowing)) for pot in sowing.replicates.all()]
    days, counts = merge_looks([look for _seeds, of_pot in looks for look in of_pot])
    return (
        read_counts(sum(seeds for seeds, of_pot in looks if of_pot), days, counts) if days else None
    )


def counts_of_pots(sowing: Sowing) -> list[Counts]:
    """Return the counts of each pot that somebody looked at, on its own days."""
    counted = (counts_of_pot(pot, sowing) for pot in sowing.replicates.all())
    return [counts for counts in counted if counts is not None]


def are_looked_at_together(pots: Sequence[Counts]) -> bool:
    """Whether all pots were looked at on the same days, so that their counts may be added up."""
    return all(list(pot.days) == list(pots[0].days) for pot in pots)


def counted_sowings(viewer: Member) -> QuerySet[Any]:
    """Sowings a viewer may see, each with `germinated` of `seeds_looked_at`.

    They are those of the pots that somebody has looked at; a sowing without one is left out.
    """
    looks = Count.objects.filter(replicate=OuterRef("replicates"), withdrawn_at=None)
    return (
        sowings_visible_to(viewer)
        # Narrowed before it is added up, so that what is added up are these pots only.
        .filter(Exists(looks))
        .annotate(
            germinated=Sum("replicates__germinated"), seeds_looked_at=Sum("replicates__seeds")
        )
    )


def tally_by_sowing(sowings: QuerySet[Any] | Iterable[int]) -> dict[int, tuple[int, int]]:
    """Return (came, seeds) of the pots that somebody looked at, by sowing; one query.

    A sowing without such a pot is left out.
    """
    looks = Count.objects.filter(replicate=OuterRef("pk"), withdrawn_at=None)
    rows = (
        Replicate.objects.filter(Exists(looks), sowing__in=sowings)
        .order_by()
        .values_list("sowing")
        .annotate(Sum("germinated"), Sum("seeds"))
    )
    return {sowing: (came, seeds) for sowing, came, seeds in rows}


def pots_left_out(sowing: Sowing) -> str:
    """Say how many pots of a sowing are in none of its numbers, as nobody looked at them yet."""
    pots = sowing.replicates.all()
    unseen = sum(not looks_of_pot(pot, sowing) for pot in pots)
    if unseen in (0, len(pots)):
        return ""
    return f"Without {unseen} pot{'' if unseen == 1 else 's'} that nobody has looked at yet."


def results_by_lot(lots: Iterable[int], viewer: Member) -> dict[int, list[tuple[int, int]]]:
    """Return (came, sown) of each counted sowing, by lot; one query."""
    results: defaultdict[int, list[tuple[int, int]]] = defaultdict(list)
    rows = (
        counted_sowings(viewer)
        .filter(packet__lot__in=list(lots))
        .order_by("pk")
        .values_list("packet__lot_id", "germinated", "seeds_looked_at")
    )
    for lot, germinated, sown in rows:
        results[lot].append((germinated, sown))
    return dict(results)


def results_of(sowings: QuerySet[Any]) -> Sequence[tuple[int, int]]:
    """Return (came, sown) of sowings from `counted_sowings`."""
    return list(sowings.order_by("pk").values_list("germinated", "seeds_looked_at"))


def counts_in_history(viewer: Member) -> QuerySet[Count]:
    """Single looks at the pots of the sowings in somebody's history."""
    sowings = sowings_in_history(viewer).order_by()
    return Count.objects.filter(withdrawn_at=None, replicate__sowing__in=sowings.values("pk"))
