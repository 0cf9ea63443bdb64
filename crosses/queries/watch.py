"""A grower's watch list of a day: what would be lost first if nobody looked before the next visit."""

import datetime
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from crosses.access import pollinations_visible_to
from crosses.calc.rates import written_percent
from crosses.calc.windows import RISK_OF_MISSING
from crosses.models import Check, HarvestedPollination, Pollination
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
RIPE_KINDS = frozenset({"colouring", "split"})
CLOSED_STATES = (
    Pollination.State.FAILED,
    Pollination.State.HARVESTED,
    Pollination.State.LOST,
)
# A tap can be taken back from the watch list itself for so long; afterwards on the flower's page.
MINUTES_TO_TAKE_BACK = 15
MOST_TAKEN_BACK = 3
# What a rule has closed is shown on the watch list for so long, then on the flower's page.
DAYS_CLOSED_SHOWN = 14


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
    """What to look at now, in the order of what would be lost; what was seen; what can wait.

    `closed` holds flowers nobody saw set that are no longer waited for, each with its reason.
    """

    now: tuple[Watched, ...]
    seen_today: tuple[Watched, ...]
    later: tuple[Watched, ...]
    closed: tuple[Watched, ...]
    just_noted: tuple[Check, ...]


def watch_list(
    grower: Any, today: datetime.date, at: datetime.datetime, *, days_to_next_visit: int = 1
) -> WatchList:
    flowers = list(with_forecast_facts(_waiting_of(grower) | _closed_lately_of(grower, at)))
    ahead = society_forecast(grower, flowers)
    now, seen_today, later, closed = [], [], [], []
    for row in flower_rows(grower, flowers, ahead, today):
        if row.why_closed:
            closed.append(Watched(row, row.why_closed, None))
            continue
        if not row.is_open:
            continue
        watched, is_due = _watched(row, ahead, today, days_to_next_visit)
        if row.state.last_seen == today and not _was_seen_ripe(row):
            seen_today.append(watched)
        elif is_due:
            now.append(watched)
        else:
            later.append(watched)
    return WatchList(
        now=tuple(sorted(now, key=_what_would_be_lost)),
        seen_today=tuple(seen_today),
        later=tuple(sorted(later, key=_what_would_be_lost)),
        closed=tuple(closed),
        just_noted=tuple(_just_noted(grower, today, at)),
    )


def _standing_of(grower: Any) -> Any:
    return pollinations_visible_to(grower).filter(
        cross__grower=grower, withdrawn_at=None, cross__withdrawn_at=None
    )


def _waiting_of(grower: Any) -> Any:
    return _standing_of(grower).filter(state__in=OPEN_STATES)


def _closed_lately_of(grower: Any, at: datetime.datetime) -> Any:
    """Return what a look or a harvest of late has brought to its end, perhaps by a rule."""
    since = at - datetime.timedelta(days=DAYS_CLOSED_SHOWN)
    looks = Check.objects.filter(logged_at__gt=since, withdrawn_at=None)
    cut = HarvestedPollination.objects.filter(harvest__logged_at__gt=since)
    ended = Q(pk__in=looks.values("pollination")) | Q(pk__in=cut.values("pollination"))
    return _standing_of(grower).filter(ended, state__in=CLOSED_STATES)


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


def _was_seen_ripe(row: FlowerRow) -> bool:
    """Whether it was found ripe at its last look, so that it is to be taken in at once."""
    return _is_ripe(row) and row.last_check is not None and row.last_check.kind in RIPE_KINDS


def _what_would_be_lost(watched: Watched) -> tuple[int, float, int, datetime.date, int]:
    """Ripe first, then by the chance of a split; of two alike the one with more capsules.

    A capsule that is known to be there comes before a flower of which nobody knows whether it took.
    """
    row = watched.row
    return (
        0 if _is_ripe(row) else 1 if row.state.capsules_open else 2,
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
        return Watched(row, _in_words(row, chance), chance), True
    unseen = (today - (row.state.last_seen or pollination.pollinated_on)).days
    if not row.state.capsules_open:
        is_due = unseen >= (DAYS_BETWEEN_LOOKS if row.state.last_seen else DAYS_TO_FADE)
        why = "Has it taken? " + _last_look(row, unseen)
        return Watched(row, why, chance), is_due
    if chance is None:
        why = f"{row.outlook.why_not} {_last_look(row, unseen)}"
        return Watched(row, why, chance), unseen >= DAYS_BETWEEN_LOOKS
    return Watched(row, "", chance), False


def _in_words(row: FlowerRow, chance: float) -> str:
    if_it_took = "" if row.state.capsules_open else ", if it took"
    if chance > ALMOST_CERTAIN:
        return f"Has probably split already{if_it_took}: nobody has looked for too long."
    return f"{written_percent(chance)} % that it splits before your next visit{if_it_took}."


def _last_look(row: FlowerRow, unseen: int) -> str:
    if row.state.last_seen is None:
        return "Not looked at yet."
    return f"Last looked at {unseen} day{'' if unseen == 1 else 's'} ago."
