"""A grower's watch list of a day: what would be lost first if nobody looked before the next visit."""

import datetime
from dataclasses import dataclass
from typing import Any

from crosses.access import pollinations_visible_to
from crosses.calc.windows import RISK_OF_MISSING
from crosses.models import Check, Pollination
from crosses.queries.flowers import FlowerRow, flower_rows
from crosses.queries.forecast import (
    OPEN_STATES,
    SocietyForecast,
    society_forecast,
    with_forecast_facts,
)

# A flower fades within a day or two of being fertilised, and a week later its ovary shows whether
# it took (common practice, no source).
DAYS_TO_FADE = 2
DAYS_BETWEEN_LOOKS = 7
ALMOST_CERTAIN = 0.95
# A tap can be taken back from the watch list itself for so long; afterwards on the flower's page.
MINUTES_TO_TAKE_BACK = 15
MOST_TAKEN_BACK = 3


@dataclass(frozen=True)
class Watched:
    """A flower of the watch list.

    `why` says what is at stake now, or why it can wait; `chance` is that it splits before the next
    visit, or has split unseen, where that can be reckoned.
    """

    row: FlowerRow
    why: str
    chance: float | None


@dataclass(frozen=True)
class WatchList:
    """What to look at now, in the order of what would be lost; what was seen; what can wait."""

    now: tuple[Watched, ...]
    seen_today: tuple[Watched, ...]
    later: tuple[Watched, ...]
    just_noted: tuple[Check, ...]


def watch_list(
    grower: Any, today: datetime.date, at: datetime.datetime, *, days_to_next_visit: int = 1
) -> WatchList:
    flowers = list(with_forecast_facts(_waiting_of(grower)))
    ahead = society_forecast(grower, flowers)
    rows = flower_rows(grower, flowers, ahead, today)
    now, seen_today, later = [], [], []
    for row in rows:
        watched, is_due = _watched(row, ahead, today, days_to_next_visit)
        if row.state.last_seen == today and not _is_ripe(row):
            seen_today.append(watched)
        elif is_due:
            now.append(watched)
        else:
            later.append(watched)
    return WatchList(
        now=tuple(sorted(now, key=_what_would_be_lost)),
        seen_today=tuple(seen_today),
        later=tuple(sorted(later, key=_what_would_be_lost)),
        just_noted=tuple(_just_noted(grower, today, at)),
    )


def _waiting_of(grower: Any) -> Any:
    return pollinations_visible_to(grower).filter(
        cross__grower=grower,
        withdrawn_at=None,
        cross__withdrawn_at=None,
        state__in=OPEN_STATES,
    )


def _just_noted(grower: Any, today: datetime.date, at: datetime.datetime) -> list[Check]:
    since = at - datetime.timedelta(minutes=MINUTES_TO_TAKE_BACK)
    checks = Check.objects.filter(
        logged_by=grower,
        logged_at__gt=since,
        # A table of looks that is brought in is no tap.
        seen_on=today,
        withdrawn_at=None,
        pollination__cross__grower=grower,
        pollination__withdrawn_at=None,
    )
    return list(
        checks.select_related("pollination__cross").order_by("-logged_at")[:MOST_TAKEN_BACK]
    )


def _is_ripe(row: FlowerRow) -> bool:
    return row.pollination.state == Pollination.State.RIPE


def _what_would_be_lost(watched: Watched) -> tuple[bool, float, int, datetime.date, int]:
    """Ripe first, then by the chance of a split; of two alike the one with more capsules."""
    row = watched.row
    return (
        not _is_ripe(row),
        -(watched.chance or 0.0),
        -row.state.open_flowers,
        row.pollination.pollinated_on,
        row.pollination.pk,
    )


def _watched(
    row: FlowerRow, ahead: SocietyForecast, today: datetime.date, days: int
) -> tuple[Watched, bool]:
    """Say what is at stake of one flower, and whether it is to be looked at now."""
    pollination = row.pollination
    if _is_ripe(row):
        return Watched(row, "Ripe. Take it in, or its seed is lost.", None), True
    chance = ahead.chance_within(pollination, today, days)
    if chance is not None and chance >= RISK_OF_MISSING:
        return Watched(row, _in_words(pollination, chance), chance), True
    if not pollination.pollen_seen and not pollination.capsules_set:
        return Watched(row, "No pollen was found: nothing is expected.", chance), False
    unseen = (today - (row.state.last_seen or pollination.pollinated_on)).days
    if not pollination.capsules_set:
        is_due = unseen >= (DAYS_BETWEEN_LOOKS if row.state.last_seen else DAYS_TO_FADE)
        why = "Has it taken? " + _last_look(row, unseen)
        return Watched(row, why, chance), is_due
    if chance is None:
        why = f"{row.outlook.why_not} {_last_look(row, unseen)}"
        return Watched(row, why, chance), unseen >= DAYS_BETWEEN_LOOKS
    return Watched(row, "", chance), False


def _in_words(pollination: Pollination, chance: float) -> str:
    if_it_took = "" if pollination.capsules_set else ", if it took"
    if chance > ALMOST_CERTAIN:
        return f"Has probably split already{if_it_took}: nobody has looked for too long."
    return f"{100 * chance:.0f} % that it splits before your next visit{if_it_took}."


def _last_look(row: FlowerRow, unseen: int) -> str:
    if row.state.last_seen is None:
        return "Not looked at yet."
    return f"Last looked at {unseen} day{'' if unseen == 1 else 's'} ago."
