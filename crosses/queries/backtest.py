"""How well forecasts would have done: each capsule that opened, by what was known before."""

import datetime
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass

from django.core.cache import cache

from crosses.access import pollinations_visible_to
from crosses.calc.capsule import Seen
from crosses.calc.windows import Kept, Opening, Tried, kept, tried
from crosses.models import Pollination
from crosses.queries.forecast import (
    genus_of,
    opening_of,
    society_forecast,
    with_forecast_facts,
)

# What the forecast stood on: the book alone, a handful, some, many.
_STEPS = ((0, "the book alone"), (9, "1 to 9 records"), (99, "10 to 99 records"))
_MANY = "100 records and more"
DAY_SECONDS = 24 * 3600


@dataclass(frozen=True)
class Backtest:
    """All capsules together, then by season, by what was known, and by genus."""

    together: Kept
    by_season: tuple[tuple[str, Kept], ...]
    by_records: tuple[tuple[str, Kept], ...]
    by_genus: tuple[tuple[str, Kept], ...]


@dataclass(frozen=True)
class _Row:
    season: int
    genus: str
    tried: Tried


def backtest_of_day(today: datetime.date) -> Backtest:
    """Return the day's backtest; it is the same for everybody, and reckoned once."""
    key = f"forecast-kept-{today}"
    found: Backtest | None = cache.get(key)
    if found is None:
        found = backtest()
        cache.set(key, found, timeout=DAY_SECONDS)
    return found


def backtest() -> Backtest:
    """Try the forecast on every capsule that opened, of the crosses the society sees.

    A season is tried with the records of earlier ones alone: nothing of the season itself, for
    that was not known yet.
    """
    opened = _openings()
    rows = [row for season in sorted(opened) for row in _rows(season, opened[season])]
    return Backtest(
        together=kept([row.tried for row in rows]),
        by_season=_grouped(rows, lambda row: str(row.season)),
        by_records=_grouped(
            sorted(rows, key=lambda row: row.tried.records),
            lambda row: _known_in_words(row.tried.records),
        ),
        by_genus=_grouped(sorted(rows, key=lambda row: row.genus), lambda row: row.genus),
    )


def _openings() -> dict[int, list[tuple[Pollination, Opening]]]:
    """Return each season's capsules that were seen split, with the looks round it."""
    took = pollinations_visible_to(None).filter(withdrawn_at=None, capsules_set__gte=1)
    split = took.filter(checks__kind__in=["split", "shed"], checks__withdrawn_at=None).distinct()
    of_season = defaultdict(list)
    for pollination in with_forecast_facts(split).order_by("pollinated_on", "pk"):
        seen = [Seen(look.seen_on, look.kind, look.flowers) for look in pollination.checks.all()]
        opening = opening_of(pollination.pollinated_on, seen, None)
        if opening is not None:
            of_season[pollination.pollinated_on.year].append((pollination, opening))
    return of_season


def _rows(season: int, opened: list[tuple[Pollination, Opening]]) -> list[_Row]:
    pollinations = [pollination for pollination, _opening in opened]
    ahead = society_forecast(None, pollinations, before=datetime.date(season, 1, 1))
    return [
        _Row(season, genus_of(pollination.cross.seed_parent), tried(known, opening))
        for pollination, opening in opened
        if (known := ahead.known(pollination)) is not None
    ]


def _known_in_words(records: int) -> str:
    return next((words for most, words in _STEPS if records <= most), _MANY)


def _grouped(rows: list[_Row], name: Callable[[_Row], str]) -> tuple[tuple[str, Kept], ...]:
    groups: dict[str, list[Tried]] = defaultdict(list)
    for row in rows:
        groups[name(row)].append(row.tried)
    return tuple((words, kept(group)) for words, group in groups.items())
