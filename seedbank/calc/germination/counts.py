"""The dated counts of one sowing, read and refused in one place.

Every reckoning in this package starts from :class:`Counts`, so none of them has to ask again
whether the numbers can be true.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, SupportsIndex

import numpy as np
from numpy.typing import NDArray

from crosses.calc.errors import BadInput
from crosses.calc.rates import whole_number

Kind = Literal["new", "total"]


@dataclass(frozen=True, slots=True, eq=False)
class Counts:
    """What was seen of one sowing. The arrays cannot be written to.

    Attributes
    ----------
    sown : int
        Seeds sown, at least one.
    days : array of float, shape (looks,)
        Days after sowing at which somebody looked, above 0 and increasing.
    new : array of int, shape (looks,)
        Seedlings newly seen at each look.

    """

    sown: int
    days: NDArray[np.float64]
    new: NDArray[np.int64]

    @property
    def totals(self) -> NDArray[np.int64]:
        """Running total at each look, shape (looks,)."""
        return np.cumsum(self.new)

    @property
    def days_before(self) -> NDArray[np.float64]:
        """Day of the look before each look; the sowing itself, day 0, before the first."""
        return np.concatenate(([0.0], self.days[:-1]))

    @property
    def germinated(self) -> int:
        """Seedlings seen in all."""
        return int(self.new.sum())


def read_counts(
    sown: SupportsIndex,
    days: Sequence[float],
    counts: Sequence[float],
    kind: Kind = "new",
) -> Counts:
    """Read the counts of one sowing.

    Parameters
    ----------
    sown : int
        Seeds sown.
    days : sequence of float
        Days after sowing of each look, above 0 and increasing.
    counts : sequence of int
        At each look, seedlings newly seen or the running total.
    kind : {"new", "total"}
        How `counts` were taken down.

    Raises
    ------
    BadInput
        If nothing was sown or looked at; if the lengths differ; if a day is not after the one
        before; if a count is negative or not whole; if a running total falls; if more came up
        than were sown.

    Examples
    --------
    >>> counts = read_counts(20, [7, 14, 21], [3, 9, 10], kind="total")
    >>> counts.new.tolist(), counts.germinated
    ([3, 6, 1], 10)

    """
    seeds = whole_number(sown, "sown")
    if seeds < 1:
        raise BadInput("A sowing has at least one seed.", field="sown")
    looked = _days(days)
    if len(looked) != len(counts):
        raise BadInput(
            f"{len(looked)} days but {len(counts)} counts: each look has one of each.",
            field="counts",
        )
    new = _new_counts(counts, looked, kind)
    if (came := int(new.sum())) > seeds:
        hint = " Were these running totals?" if kind == "new" and len(new) > 1 else ""
        raise BadInput(f"{came} came up of {seeds} sown: that is too many.{hint}", field="counts")
    looked.flags.writeable = False
    new.flags.writeable = False
    return Counts(seeds, looked, new)


def merge_looks(rows: Iterable[tuple[float, int]]) -> tuple[list[float], list[int]]:
    """Put looks in order of day and add up new seedlings seen on the same day.

    Two people may count one tray on one day, and rows may arrive in any order; neither changes
    what came up. For counts taken as *new* only: running totals of one day must not be added.

    Parameters
    ----------
    rows : iterable of (day, newly seen)
        The looks in any order, days after sowing.

    Returns
    -------
    days, counts : list of float, list of int
        Ready for :func:`read_counts`.

    Examples
    --------
    >>> merge_looks([(14, 2), (7, 1), (14, 3)])
    ([7.0, 14.0], [1, 5])

    """
    seen: dict[float, int] = {}
    for day, newly_seen in rows:
        seen[float(day)] = seen.get(float(day), 0) + newly_seen
    days = sorted(seen)
    return days, [seen[day] for day in days]


def _days(days: Sequence[float]) -> NDArray[np.float64]:
    if len(days) == 0:
        raise BadInput("Nobody has looked at this sowing yet.", field="days")
    looked = _numbers(days, "days", "A day is a number of days after sowing.")
    if looked[0] <= 0:
        raise BadInput("The first look is after the day of sowing.", field="days")
    fall = np.flatnonzero(np.diff(looked) <= 0)
    if len(fall):
        before, after = looked[fall[0]], looked[fall[0] + 1]
        raise BadInput(
            f"Day {after:g} stands after day {before:g}: put the looks in order, one a day.",
            field="days",
        )
    return looked


def _new_counts(
    counts: Sequence[float], days: NDArray[np.float64], kind: Kind
) -> NDArray[np.int64]:
    if kind not in ("new", "total"):
        raise BadInput('Counts are either "new" or "total".', field="kind")
    numbers = _numbers(counts, "counts", "Count in whole seedlings.")
    if (numbers != np.floor(numbers)).any():
        raise BadInput("Count in whole seedlings.", field="counts")
    if (numbers < 0).any():
        raise BadInput("A count cannot be below nought.", field="counts")
    seen = numbers.astype(np.int64)
    if kind == "new":
        return seen
    new = np.diff(seen, prepend=0)
    fall = np.flatnonzero(new < 0)
    if len(fall):
        at = fall[0]
        raise BadInput(
            f"The running total falls from {seen[at - 1]} on day {days[at - 1]:g} to {seen[at]} "
            f"on day {days[at]:g}. Were these new seedlings?",
            field="counts",
        )
    return new


def _numbers(values: Sequence[float], field: str, words: str) -> NDArray[np.float64]:
    try:
        numbers = np.array(values, dtype=np.float64)
    except (TypeError, ValueError) as problem:
        raise BadInput(words, field=field) from problem
    if not np.isfinite(numbers).all():
        raise BadInput(words, field=field)
    return numbers
