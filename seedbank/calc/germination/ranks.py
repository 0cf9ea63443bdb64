"""Whether seeds of one side come sooner, and more of them, whatever the days of looking.

Each seed is given a score by where the pooled course stood when it came: these tests need neither
a common schedule nor a curve. Seeds not found take part as later than the last look, or never.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, islice

import numpy as np
from numpy.typing import NDArray

from crosses.calc.errors import BadInput
from crosses.calc.rates import whole_percent
from seedbank.calc.germination.compare import p_words
from seedbank.calc.germination.counts import Counts
from seedbank.calc.germination.course import Interval, PooledSteps, intervals, turnbull

# Up to so many ways to deal out the pots each is gone through; beyond them the normal law serves.
MOST_WAYS = 200_000
WAYS_AT_ONCE = 20_000
# Two ways whose statistics differ by less than rounding are alike.
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class RankTest:
    """Generalised Wilcoxon test of two courses of germination.

    Attributes
    ----------
    sooner : float
        Chance that a seed of the first side comes sooner than one of the second, ties shared: one
        half where they do not differ.
    z, p_value : float or None
        Standard deviate and two-sided chance, each seed taken for itself; None where all seeds
        came, or stayed, within one interval.
    sentence : str

    """

    sooner: float
    z: float | None
    p_value: float | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Permuted:
    """Test by dealing out the pots anew.

    Attributes
    ----------
    p_value : float
        Share of the ways to deal out the pots at which the sides differ at least as much.
    ways : int
        Ways to deal out the pots.
    is_exact : bool
        Whether all of them were gone through; else the p-value is by the normal law.
    sentence : str

    """

    p_value: float
    ways: int
    is_exact: bool
    sentence: str


def generalised_wilcoxon(
    first: Counts | Sequence[Counts], second: Counts | Sequence[Counts]
) -> RankTest:
    """Compare how soon and how many came, each pot with its own days of looking.

    Parameters
    ----------
    first, second : Counts or sequence of Counts
        The pots of each side.

    Raises
    ------
    BadInput
        If a side has no pot.

    Notes
    -----
    A seed that came in (L, R] scores ``S(L) + S(R) - 1``, S the share still waiting by the pooled
    nonparametric estimate (Peto and Peto 1972, Journal of the Royal Statistical Society A 135,
    185-207, for interval-censored times as in Fay 1999, Statistics in Medicine 18, 273-285).
    Variance by permutation of the seeds. With one schedule it is the Mann-Whitney test with ties.

    Examples
    --------
    >>> from seedbank.calc.germination.counts import read_counts
    >>> sooner = read_counts(50, [7, 14, 21], [20, 10, 2])
    >>> later = read_counts(50, [8, 15, 22], [4, 15, 11])
    >>> generalised_wilcoxon(sooner, later).sentence[:74]
    'A seed of the first side comes sooner than one of the second in 66 of 100 '

    """
    sides = _sides(first, second)
    observed = [[one for pot in side for one in intervals(pot)] for side in sides]
    return rank_test(*observed)


def rank_test(first: Sequence[Interval], second: Sequence[Interval]) -> RankTest:
    """Do the same for intervals of any source; see :func:`generalised_wilcoxon`.

    Raises
    ------
    BadInput
        If a side has no seeds, or an interval cannot be.

    """
    pooled = turnbull([*first, *second])
    scored = [_scored(side, pooled) for side in (first, second)]
    for (_, seeds), name in zip(scored, ("first", "second"), strict=True):
        if seeds.sum() == 0:
            raise BadInput("There are no seeds to reckon with.", field=name)
    scores = np.concatenate([scores for scores, _ in scored])
    seeds = np.concatenate([seeds for _, seeds in scored])
    sizes = [float(seeds.sum()) for _, seeds in scored]
    totals = [float(scores @ seeds) for scores, seeds in scored]
    sooner = (1 + totals[0] / sizes[0] - totals[1] / sizes[1]) / 2
    everybody = float(seeds.sum())
    mean = float(scores @ seeds) / everybody
    spread = float(seeds @ (scores - mean) ** 2) / (everybody - 1) if everybody > 1 else 0.0
    if spread < ROUNDING:
        return RankTest(
            0.5, None, None, "The courses cannot be told apart: one interval holds all."
        )
    variance = sizes[0] * sizes[1] / everybody * spread
    z = (totals[0] - sizes[0] * mean) / math.sqrt(variance)
    p_value = math.erfc(abs(z) / math.sqrt(2))
    return RankTest(
        sooner,
        z,
        p_value,
        f"A seed of the first side comes sooner than one of the second in "
        f"{whole_percent(sooner)} of 100 pairs, ties shared ({p_words(p_value)} by the "
        "generalised Wilcoxon test, each seed taken for itself).",
    )


def permute_pots(first: Sequence[Counts], second: Sequence[Counts]) -> Permuted:
    """Compare the courses of two sides by dealing out their pots anew.

    Seeds of one pot share its fate; whole pots are what may be exchanged.

    Parameters
    ----------
    first, second : sequence of Counts
        The pots of each side.

    Raises
    ------
    BadInput
        If a side has no pot.

    """
    sides = _sides(first, second)
    pots = [[intervals(pot) for pot in side] for side in sides]
    pooled = turnbull([one for side in pots for pot in side for one in pot])
    means = [[_mean_score(pot, pooled) for pot in side] for side in pots]
    return permutation_test(*means)


def permutation_test(
    first: Sequence[float], second: Sequence[float], *, dealt: str = "pots"
) -> Permuted:
    """Chance that the means of two sides differ as much when pots are dealt out blindly.

    Parameters
    ----------
    first, second : sequence of float
        A number for each pot: its share, or its mean score.
    dealt : str
        What is dealt out, for the sentence.

    Raises
    ------
    BadInput
        If a side has no pot.

    Notes
    -----
    All ways are gone through where they are few enough, so nothing here is random. Two-sided: ways
    with a difference of means at least as large, in either direction.

    Examples
    --------
    >>> permutation_test([0.9, 0.8, 0.85], [0.4, 0.5, 0.45]).sentence
    'Of 20 ways to deal out the pots, 2 differ as much (p 0.100, the least there can be).'

    """
    for side, name in ((first, "first"), (second, "second")):
        if len(side) == 0:
            raise BadInput("Each side has at least one pot.", field=name)
    values = np.array([*first, *second], dtype=np.float64)
    few = len(first)
    ways = math.comb(len(values), few)
    seen = abs(_apart(np.array([values[:few].sum()]), values, few)[0])
    if ways > MOST_WAYS:
        spread = float(((values - values.mean()) ** 2).sum()) / (len(values) - 1)
        error = math.sqrt(spread * (1 / few + 1 / (len(values) - few)))
        p_value = math.erfc(seen / error / math.sqrt(2)) if error else 1.0
        words = f"By the normal law for {ways:,} ways to deal out the {dealt}: {p_words(p_value)}."
        return Permuted(p_value, ways, is_exact=False, sentence=words)
    alike = sum(
        int((np.abs(_apart(sums, values, few)) >= seen - ROUNDING).sum())
        for sums in _sums(values, few)
    )
    p_value = alike / ways
    is_least = alike <= (2 if 2 * few == len(values) else 1)
    least = ", the least there can be" if is_least else ""
    return Permuted(
        p_value,
        ways,
        is_exact=True,
        sentence=f"Of {ways:,} ways to deal out the {dealt}, {alike:,} "
        f"differ{'s' if alike == 1 else ''} as much "
        f"({p_words(p_value)}{least}).",
    )


def _sums(values: NDArray[np.float64], few: int) -> Iterable[NDArray[np.float64]]:
    ways = combinations(range(len(values)), few)
    while chosen := list(islice(ways, WAYS_AT_ONCE)):
        yield values[np.array(chosen)].sum(axis=1)


def _apart(sums: NDArray[np.float64], values: NDArray[np.float64], few: int) -> NDArray[np.float64]:
    """Difference of the means of both sides, given the sum of the first."""
    apart: NDArray[np.float64] = sums / few - (values.sum() - sums) / (len(values) - few)
    return apart


def _sides(
    first: Counts | Sequence[Counts], second: Counts | Sequence[Counts]
) -> tuple[Sequence[Counts], Sequence[Counts]]:
    one, two = ([side] if isinstance(side, Counts) else side for side in (first, second))
    for side, name in ((one, "first"), (two, "second")):
        if len(side) == 0:
            raise BadInput("Each side has at least one pot.", field=name)
    return one, two


def _mean_score(pot: Sequence[Interval], pooled: PooledSteps) -> float:
    scores, seeds = _scored(pot, pooled)
    return float(scores @ seeds / seeds.sum())


def _scored(
    observed: Sequence[Interval], pooled: PooledSteps
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Score and seeds of each interval; the earlier a seed came, the higher it scores."""
    scores = [
        _waiting(pooled, one.after_day)
        + (0.0 if one.by_day is None else _waiting(pooled, one.by_day))
        - 1
        for one in observed
    ]
    return np.array(scores), np.array([one.seeds for one in observed], dtype=np.float64)


def _waiting(pooled: PooledSteps, day: float) -> float:
    """Share still waiting on a day at which a look ended; there the pooled course is known."""
    return 1 - pooled.share_by(day)[0]
