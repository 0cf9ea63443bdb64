"""A grower's season as pictures: what was done when, and what took."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Prefetch, QuerySet

from crosses.access import crosses_visible_to, pollinations_visible_to
from crosses.calc.rates import wilson
from crosses.formats.charts import (
    Chart,
    ShareBar,
    TimelineEvent,
    TimelineRow,
    bars_with_intervals,
    season_timeline,
)
from crosses.models import Check, Cross, HarvestedPollination, Pollination
from crosses.queries.crosses import with_parents
from crosses.queries.took import took_by
from crosses.queries.written import cross_formula

# More bars than this are read no better than a table; those with the most flowers tell most.
MOST_BARS = 15
_EVENTS_SEEN = {
    Check.Kind.SWELLING: "swelling",
    Check.Kind.SPLIT: "split",
    Check.Kind.ABORTED: "aborted",
    Check.Kind.EATEN: "lost",
    Check.Kind.SHED: "lost",
}
MONTHS = [datetime.date(2000, month, 1).strftime("%B") for month in range(1, 13)]


@dataclass(frozen=True)
class Taken:
    """What took of a grower's flowers, by `took_by`; each picture None where nothing is decided."""

    by_month: Chart | None
    by_seed_parent: Chart | None
    by_pollen_parent: Chart | None


def own_crosses_of_season(grower: Any, season: int) -> QuerySet[Cross]:
    """Return a grower's crosses of a season with all that happened to their flowers."""
    standing = Pollination.objects.filter(withdrawn_at=None).prefetch_related(
        Prefetch("checks", Check.objects.filter(withdrawn_at=None)),
        Prefetch(
            "harvests",
            HarvestedPollination.objects.filter(harvest__withdrawn_at=None).select_related(
                "harvest"
            ),
        ),
    )
    crosses = crosses_visible_to(grower).filter(grower=grower, season=season, withdrawn_at=None)
    return (
        with_parents(crosses)
        .prefetch_related(Prefetch("pollinations", standing))
        .order_by("own_number", "number")
    )


def timeline_of(crosses: Iterable[Cross], season: int) -> Chart | None:
    """Draw what was done and seen, a row a cross; None before anything was."""
    rows = [
        TimelineRow(f"{cross.own_number} {cross_formula(cross)}", tuple(_events(cross)))
        for cross in crosses
    ]
    if not any(row.events for row in rows):
        return None
    return season_timeline("season", f"The season of {season}", rows)


def _events(cross: Cross) -> list[TimelineEvent]:
    events = set()
    for pollination in cross.pollinations.all():
        events.add(TimelineEvent(pollination.pollinated_on, "pollinated"))
        for check in pollination.checks.all():
            if kind := _EVENTS_SEEN.get(Check.Kind(check.kind)):
                events.add(TimelineEvent(check.seen_on, kind))
        for line in pollination.harvests.all():
            events.add(TimelineEvent(line.harvest.harvested_on, "harvested"))
    return sorted(events, key=lambda event: (event.day, event.kind))


def taken_by(grower: Any, season: int | None = None) -> Taken:
    """Draw what share of the decided flowers took by month and by parent, in three queries."""
    flowers = pollinations_visible_to(grower).filter(cross__grower=grower)
    if season is not None:
        flowers = flowers.filter(cross__season=season)
    when = "ever" if season is None else str(season)
    months = took_by(flowers, "pollinated_on__month")
    return Taken(
        by_month=_bars(
            f"month-{when}",
            "What took, by month of pollination",
            [(MONTHS[month - 1], *shares) for month, *shares in sorted(months)],
        ),
        by_seed_parent=_bars(
            f"seed-parent-{when}",
            "What took, by seed parent",
            _most_first(took_by(flowers, "cross__seed_parent__name_text")),
        ),
        by_pollen_parent=_bars(
            f"pollen-parent-{when}",
            "What took, by pollen parent",
            _most_first(took_by(flowers, "cross__pollen_parent__name_text")),
        ),
    )


def _most_first(shares: list[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    return sorted(shares, key=lambda share: (-share[2], share[0]))[:MOST_BARS]


def _bars(key: str, title: str, shares: list[tuple[Any, ...]]) -> Chart | None:
    if not shares:
        return None
    counted = [(label, wilson(took, flowers)) for label, took, flowers in shares]
    return bars_with_intervals(
        key,
        title,
        [ShareBar(label, share.x, share.n, share.low, share.high) for label, share in counted],
    )
