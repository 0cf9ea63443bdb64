"""Between which looks a capsule opened."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from crosses.calc.errors import BadInput
from crosses.calc.looks import OPENED, SEEN_CLOSED, SIGNS_OF_TAKE, Seen, day_in_words


@dataclass(frozen=True)
class OpeningInterval:
    """Between which days after pollination the first capsule opened.

    Attributes
    ----------
    closed_until_day : int
        The last day it was seen still closed; 0 if it was not looked at before.
    opened_by_day : int or None
        The first day it was seen open; None if it was not (closed at the last look, or gone).
    """

    closed_until_day: int
    opened_by_day: int | None


def opening_interval(
    pollinated_on: date, checks: Sequence[Seen], cut_closed_on: date | None = None
) -> OpeningInterval | None:
    """Return between which days the first capsule opened, or None if none is known to have set.

    The day of finding is never taken for the day of opening: the capsule opened somewhere after the
    last look that found it closed. A capsule cut green, aborted, eaten or still closed gives a
    lower end only.

    Parameters
    ----------
    pollinated_on : date
    checks : sequence of Seen
        In any order.
    cut_closed_on : date, optional
        The day capsules were harvested while all were still closed.

    Raises
    ------
    BadInput
        If something was seen before the pollination, or an open capsule on its very day.
    """
    looks = [(seen.day, seen.kind) for seen in checks]
    if cut_closed_on is not None:
        looks.append((cut_closed_on, "swelling"))
    if any(day < pollinated_on for day, _ in looks):
        raise BadInput(
            f"Something was seen before the day of pollination, {day_in_words(pollinated_on)}.",
            field="checks",
        )
    if not any(kind in SIGNS_OF_TAKE for _, kind in looks):
        return None
    opened_on = min((day for day, kind in looks if kind in OPENED), default=None)
    if opened_on == pollinated_on:
        raise BadInput("A capsule cannot split on the day of pollination.", field="checks")
    closed_on = max(
        (
            day
            for day, kind in looks
            if kind in SEEN_CLOSED and (opened_on is None or day < opened_on)
        ),
        default=pollinated_on,
    )
    return OpeningInterval(
        closed_until_day=(closed_on - pollinated_on).days,
        opened_by_day=None if opened_on is None else (opened_on - pollinated_on).days,
    )
