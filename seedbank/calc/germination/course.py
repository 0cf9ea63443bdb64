"""What the looks themselves say about when seeds came, with no curve assumed.

A seed found at a look came between the look before and that one: in an interval open at its left
end and closed at its right. A seed not found has not come *yet*; it is not a failure.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from crosses.calc.errors import BadInput
from crosses.calc.rates import Share, score_ends, sentence, wilson
from seedbank.calc.germination.counts import Counts

# The likelihood of the answer is within this of the highest possible, in natural logs; far below
# anything a count could show.
LIKELIHOOD_TOLERANCE = 1e-6
MOST_ROUNDS = 5_000
# Below any share that a count could show, and above nought, from which no weight comes back.
SMALLEST = 1e-14
# What the rounds leave where nothing came.
LEAST_STEP = 1e-5


@dataclass(frozen=True, slots=True)
class Interval:
    """Seeds that came after `after_day` and by `by_day`; None when they have not come yet."""

    after_day: float
    by_day: float | None
    seeds: int


@dataclass(frozen=True, slots=True)
class Steps:
    """Running share of the seeds sown at each look; between two looks it is not known.

    Attributes
    ----------
    days : tuple of float
        Days after sowing of the looks.
    shares : tuple of Share
        Share of all seeds sown that had come by each look, each with its 95 % interval.
    sentence : str
        Where it stood at the last look.

    """

    days: tuple[float, ...]
    shares: tuple[Share, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class PooledSteps:
    """Estimate from several sowings that were looked at on different days.

    Attributes
    ----------
    after_days, by_days : tuple of float
        Ends of the intervals to which a share could be given, open left and closed right; the
        last `by_days` is infinite when seeds are left.
    shares : tuple of float
        Share of the seeds that came in each interval; they add up to 1 with those left.
    seeds : int
        Seeds behind the estimate.

    """

    after_days: tuple[float, ...]
    by_days: tuple[float, ...]
    shares: tuple[float, ...]
    seeds: int

    def share_by(self, day: float) -> tuple[float, float]:
        """Give the least and the most that may have come by `day`; within an interval they differ.

        Parameters
        ----------
        day : float
            Days after sowing.

        """
        steps = tuple(zip(self.after_days, self.by_days, self.shares, strict=True))
        least = sum(share for _, by_day, share in steps if by_day <= day)
        most = sum(share for after_day, _, share in steps if after_day < day)
        return least, most


@dataclass(frozen=True, slots=True)
class PotStep:
    """Share of all seeds that had come by a day, from pots looked at on days of their own.

    Attributes
    ----------
    day : float
        Days after sowing.
    share, low, high : float
        With the ends of the interval, which rests on `known` seeds alone.
    known : int
        Seeds of which somebody knew on this day whether they had come.

    """

    day: float
    share: float
    low: float
    high: float
    known: int


def steps(counts: Counts) -> Steps:
    """Share of the seeds sown that had come by each look of one sowing.

    With one schedule of looks this is the nonparametric maximum-likelihood estimate.

    Parameters
    ----------
    counts : Counts
        From :func:`~seedbank.calc.germination.counts.read_counts`.

    Examples
    --------
    >>> from seedbank.calc.germination.counts import read_counts
    >>> steps(read_counts(20, [7, 14], [5, 13])).sentence
    '18 of 20 = 90 % (70-97 %) by day 14'

    """
    shares = tuple(wilson(int(total), counts.sown) for total in counts.totals)
    days = tuple(counts.days.tolist())
    return Steps(days, shares, f"{sentence(shares[-1])} by day {days[-1]:g}")


def pot_steps(pots: Sequence[Counts], confidence: float = 0.95) -> tuple[PotStep, ...]:
    """Pool the running share of several pots, each with its own days of looking.

    Parameters
    ----------
    pots : sequence of Counts
        The pots of one sowing that somebody looked at.
    confidence : float
        Of the intervals, between 0 and 1.

    Raises
    ------
    BadInput
        If there is no pot.

    Notes
    -----
    The share is the nonparametric maximum-likelihood estimate (:func:`turnbull`), given at each day
    by which it has risen. Adding the counts up as though all pots had been looked at together would
    take a seed nobody looked at for one that had not come. The interval is the score interval as
    though only the seeds whose state was known that day had been sown, so it is rather too wide.

    Examples
    --------
    >>> from seedbank.calc.germination.counts import read_counts
    >>> pots = [read_counts(10, [7, 14], [5, 5]), read_counts(10, [10], [8])]
    >>> [(step.day, round(step.share, 3), step.known) for step in pot_steps(pots)]
    [(7.0, 0.5, 12), (10.0, 0.8, 15), (14.0, 1.0, 18)]

    """
    observed = [interval for pot in pots for interval in intervals(pot)]
    pooled = turnbull(observed)
    risen = {
        day: share
        for day, more, share in zip(
            pooled.by_days, pooled.shares, np.cumsum(pooled.shares).tolist(), strict=True
        )
        if more >= LEAST_STEP and np.isfinite(day)
    }
    # The last look is told even if nothing came after the last step, or nothing at all.
    risen.setdefault(max(float(pot.days[-1]) for pot in pots), max(risen.values(), default=0.0))
    return tuple(
        _pot_step(day, min(share, 1.0), observed, confidence) for day, share in risen.items()
    )


def _pot_step(day: float, share: float, observed: Sequence[Interval], confidence: float) -> PotStep:
    known = sum(
        one.seeds
        for one in observed
        if one.after_day >= day or (one.by_day is not None and one.by_day <= day)
    )
    return PotStep(day, share, *score_ends(share, known, confidence), known)


def intervals(counts: Counts) -> tuple[Interval, ...]:
    """Between which two looks the seeds of one sowing came; those not found last, if any.

    >>> from seedbank.calc.germination.counts import read_counts
    >>> intervals(read_counts(9, [7, 14], [0, 8]))
    (Interval(after_day=7.0, by_day=14.0, seeds=8), Interval(after_day=14.0, by_day=None, seeds=1))
    """
    found = tuple(
        Interval(float(before), float(day), int(new))
        for before, day, new in zip(counts.days_before, counts.days, counts.new, strict=True)
        if new > 0
    )
    left = counts.sown - counts.germinated
    return found if left == 0 else (*found, Interval(float(counts.days[-1]), None, left))


def turnbull(observed: Iterable[Interval], tolerance: float = LIKELIHOOD_TOLERANCE) -> PooledSteps:
    """Pool sowings looked at on different days into one estimate.

    Parameters
    ----------
    observed : iterable of Interval
        Of any number of sowings, for example from :func:`intervals`.
    tolerance : float
        By how much the log-likelihood may fall short of the highest possible.

    Raises
    ------
    BadInput
        If there are no seeds, or an interval does not end after it begins.

    Notes
    -----
    Turnbull (1976), Journal of the Royal Statistical Society B 38, 290-295: shares go to the
    innermost intervals only, and are found by giving each seed's weight to them in turn until the
    likelihood rises no more. The stopping rule is a bound, not a guess: at any point the highest
    possible log-likelihood lies at most (largest gradient - seeds) above the present one.

    Examples
    --------
    >>> pooled = turnbull([Interval(0, 7, 6), Interval(7, None, 4)])
    >>> pooled.shares, pooled.share_by(5), pooled.share_by(7)
    ((0.6, 0.4), (0, 0.6), (0.6, 0.6))

    """
    after, by, seeds = _ends(observed)
    inner_after, inner_by = _innermost(after, by)
    holds = (after[:, None] <= inner_after) & (inner_by <= by[:, None])
    shares = _shares(holds.astype(np.float64), seeds, tolerance)
    return PooledSteps(
        tuple(inner_after.tolist()),
        tuple(inner_by.tolist()),
        tuple(shares.tolist()),
        int(seeds.sum()),
    )


def _ends(
    observed: Iterable[Interval],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    seeds: dict[tuple[float, float], int] = {}
    for interval in observed:
        by_day = np.inf if interval.by_day is None else float(interval.by_day)
        if not 0 <= interval.after_day < by_day:
            raise BadInput(
                f"An interval cannot run from day {interval.after_day:g} to day {by_day:g}.",
                field="by_day",
            )
        if interval.seeds < 0:
            raise BadInput("A count cannot be below nought.", field="seeds")
        ends = (float(interval.after_day), by_day)
        seeds[ends] = seeds.get(ends, 0) + interval.seeds
    held = [(after, by, number) for (after, by), number in sorted(seeds.items()) if number > 0]
    if not held:
        raise BadInput("There are no seeds to reckon with.", field="seeds")
    table = np.array(held, dtype=np.float64)
    return table[:, 0], table[:, 1], table[:, 2]


def _innermost(
    after: NDArray[np.float64], by: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Each left end that is followed by a right end with no other end between.

    At one and the same day a right end stands before a left end: (0, 7] and (7, 14] do not meet.
    """
    right, left = 0, 1
    ends = sorted({(day, left) for day in after.tolist()} | {(day, right) for day in by.tolist()})
    inner = [
        (day, next_day)
        for (day, side), (next_day, next_side) in pairwise(ends)
        if side == left and next_side == right
    ]
    table = np.array(inner, dtype=np.float64)
    return table[:, 0], table[:, 1]


def _shares(
    holds: NDArray[np.float64], seeds: NDArray[np.float64], tolerance: float
) -> NDArray[np.float64]:
    """Give weight in turn, leaping ahead where the last two turns point the same way.

    The leap is the squared extrapolation of Varadhan and Roland (2008), Scandinavian Journal of
    Statistics 35, 335-353; one that lowers the likelihood is not taken.
    """
    total = seeds.sum()

    def turn(shares: NDArray[np.float64]) -> NDArray[np.float64]:
        given: NDArray[np.float64] = shares * (holds.T @ (seeds / (holds @ shares))) / total
        return given

    def likelihood(shares: NDArray[np.float64]) -> float:
        return float(seeds @ np.log(holds @ shares))

    shares: NDArray[np.float64] = np.full(holds.shape[1], 1 / holds.shape[1])
    for _ in range(MOST_ROUNDS):
        once = turn(shares)
        twice = turn(once)
        change, bend = once - shares, twice - 2 * once + shares
        length = -np.linalg.norm(change) / max(float(np.linalg.norm(bend)), SMALLEST)
        leapt = np.maximum(shares - 2 * length * change + length**2 * bend, SMALLEST)
        leapt = turn(leapt / leapt.sum())
        shares = leapt if likelihood(leapt) > likelihood(twice) else twice
        gradient = holds.T @ (seeds / (holds @ shares))
        if gradient.max() - total < tolerance:
            return shares
    raise BadInput("The looks of these sowings could not be pooled.", field="observed")
