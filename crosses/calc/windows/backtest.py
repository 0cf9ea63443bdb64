"""How well forecasts did: of the capsules that opened, how many inside the days that were said."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from crosses.calc.rates import Share, wilson
from crosses.calc.windows.belief import Opening, Posterior
from crosses.calc.windows.forecast import age_at

# The days that are said leave out one in ten at either end.
SHARE_BEFORE = SHARE_AFTER = 0.1
# Looks farther apart than this part of the days that were said cannot tell on which side it fell.
MOST_BETWEEN_LOOKS = 1 / 3


@dataclass(frozen=True, slots=True)
class Tried:
    """One capsule that opened, and the days that were said on the day of its pollination.

    Attributes
    ----------
    early_days, late_days : float
        Ages by which 10 and 90 of 100 such capsules should have split.
    opening : Opening
        Between which looks it split.
    records : int
        Records the forecast stood on.

    """

    early_days: float
    late_days: float
    opening: Opening
    records: int

    @property
    def is_told(self) -> bool:
        """Whether the looks round the split were close enough to tell when it was."""
        # Nobody looks more often than daily.
        most = max(1.0, MOST_BETWEEN_LOOKS * (self.late_days - self.early_days))
        opened = self.opening.opened_by_days
        return opened is not None and opened - self.opening.closed_until_days <= most

    @property
    def split_days(self) -> float:
        """Middle between the look that found it closed and the one that found it split."""
        opened = self.opening.opened_by_days
        return (self.opening.closed_until_days + (opened or math.inf)) / 2


@dataclass(frozen=True, slots=True)
class Kept:
    """Of the capsules that opened, how many did so within the days that were said.

    Attributes
    ----------
    within : Share
        With its 95 % interval. Capsules of one plant and season are alike, so the truth is wider.
    too_early, too_late : int
        Opened before, or after, the days that were said.
    untold : int
        Opened while nobody looked for too long; they are not in the share.

    """

    within: Share
    too_early: int
    too_late: int
    untold: int


def tried(known: Posterior, opening: Opening) -> Tried:
    """Say what would have been forecast at pollination for a capsule whose opening is known.

    Examples
    --------
    >>> from crosses.calc.windows import Window, posterior
    >>> one = tried(posterior(Window(14, 28), []), Opening(18, 19))
    >>> one.split_days, one.early_days < 18 < one.late_days
    (18.5, True)

    """
    return Tried(
        early_days=age_at(known, 0, SHARE_BEFORE),
        late_days=age_at(known, 0, 1 - SHARE_AFTER),
        opening=opening,
        records=sum(source.records for source in known.sources),
    )


def kept(capsules: Sequence[Tried]) -> Kept:
    """Add up how often the days that were said held the opening.

    Examples
    --------
    >>> early, inside = Tried(14, 28, Opening(9, 10), 0), Tried(14, 28, Opening(18, 19), 0)
    >>> never_looked = Tried(14, 28, Opening(0, 19), 0)
    >>> found = kept([early, inside, never_looked])
    >>> found.within.x, found.within.n, found.too_early, found.untold
    (1, 2, 1, 1)

    """
    told = [one for one in capsules if one.is_told]
    too_early = sum(one.split_days < one.early_days for one in told)
    too_late = sum(one.split_days > one.late_days for one in told)
    inside = len(told) - too_early - too_late
    return Kept(wilson(inside, len(told)), too_early, too_late, len(capsules) - len(told))
