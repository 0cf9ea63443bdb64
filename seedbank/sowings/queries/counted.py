"""Counts as the reckoning wants them."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from django.db.models import QuerySet, Sum

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
    """Return all pots of a sowing as one, or None if nobody looked yet."""
    looks = [look for pot in sowing.replicates.all() for look in looks_of_pot(pot, sowing)]
    days, counts = merge_looks(looks)
    return read_counts(sowing.seeds_sown, days, counts) if days else None


def counts_of_pots(sowing: Sowing) -> list[Counts]:
    """Return the counts of each pot that somebody looked at, on its own days."""
    counted = (counts_of_pot(pot, sowing) for pot in sowing.replicates.all())
    return [counts for counts in counted if counts is not None]


def are_looked_at_together(pots: Sequence[Counts]) -> bool:
    """Whether all pots were looked at on the same days, so that their counts may be added up."""
    return all(list(pot.days) == list(pots[0].days) for pot in pots)


def counted_sowings(viewer: Member) -> QuerySet[Any]:
    """Sowings a viewer may see that somebody has looked at, each with `germinated`.

    A sowing that nobody has looked at says nothing of its seed, least of all 0 %.
    """
    looked_at = Count.objects.filter(withdrawn_at=None).values("replicate__sowing")
    return (
        sowings_visible_to(viewer)
        .filter(pk__in=looked_at)
        .annotate(germinated=Sum("replicates__germinated"))
    )


def results_by_lot(lots: Iterable[int], viewer: Member) -> dict[int, list[tuple[int, int]]]:
    """Return (came, sown) of each counted sowing, by lot; one query."""
    results: defaultdict[int, list[tuple[int, int]]] = defaultdict(list)
    rows = (
        counted_sowings(viewer)
        .filter(packet__lot__in=list(lots))
        .order_by("pk")
        .values_list("packet__lot_id", "germinated", "seeds_sown")
    )
    for lot, germinated, sown in rows:
        results[lot].append((germinated, sown))
    return dict(results)


def results_of(sowings: QuerySet[Any]) -> Sequence[tuple[int, int]]:
    """Return (came, sown) of sowings from `counted_sowings`."""
    return list(sowings.order_by("pk").values_list("germinated", "seeds_sown"))


def counts_in_history(viewer: Member) -> QuerySet[Count]:
    """Single looks at the pots of the sowings in somebody's history."""
    sowings = sowings_in_history(viewer).order_by()
    return Count.objects.filter(withdrawn_at=None, replicate__sowing__in=sowings.values("pk"))
