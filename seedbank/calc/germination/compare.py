"""Whether two treatments differ, and by how much.

The size of the difference with its interval is the answer; a p-value stands beside it, never in its
place. From fewer than three sowings a side no claim is made, since pot and treatment cannot be
told apart.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from crosses.calc.errors import BadInput
from crosses.calc.rates import Share, wilson
from seedbank.calc.germination.betabinomial import fit_common_scatter, tally
from seedbank.calc.germination.counts import Counts
from seedbank.calc.germination.pool import Pooled, pool_sowings, sowings_words

FEWEST_SOWINGS_A_SIDE = 3


@dataclass(frozen=True, slots=True)
class Difference:
    """Second share less the first, with its interval, as fractions of one."""

    estimate: float
    low: float
    high: float
    sentence: str


@dataclass(frozen=True, slots=True)
class LogRank:
    """Comparison of two courses of germination, share and speed together.

    Attributes
    ----------
    chi_square, p_value : float or None
        With one degree of freedom; None when nothing came on either side.
    observed, expected : float
        Seedlings of the first side, and what it would have had if the sides did not differ.
    sentence : str
        All of it in words.

    """

    chi_square: float | None
    p_value: float | None
    observed: int
    expected: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two treatments compared over their sowings.

    Attributes
    ----------
    first, second : Pooled
        Each side's history.
    difference : Difference
        Second less first.
    p_value : float or None
        None where no claim may be made.
    may_claim : bool
        Whether there are at least three sowings a side.
    sentence : str
        Sowings and seeds of each side, the difference and what may be said of it.

    """

    first: Pooled
    second: Pooled
    difference: Difference
    p_value: float | None
    may_claim: bool
    sentence: str


def fisher_exact(first: tuple[int, int], second: tuple[int, int]) -> float:
    """Chance of a table no likelier than that of two single pots, were they alike (two-sided).

    Parameters
    ----------
    first, second : (came, sown)
        Seedlings and seeds of each pot.

    Raises
    ------
    BadInput
        If a count cannot be.

    Notes
    -----
    Fisher's exact test, two-sided as the sum over all tables not more probable than the one seen.

    Examples
    --------
    >>> round(fisher_exact((3, 4), (1, 4)), 4)
    0.4857

    """
    from scipy.stats import fisher_exact as exact_test

    one, two = wilson(*first), wilson(*second)
    table = np.array([[one.x, one.n - one.x], [two.x, two.n - two.x]])
    return float(exact_test(table).pvalue)


def difference_of_shares(first: Share, second: Share) -> Difference:
    """Take the first share from the second, with an interval.

    Parameters
    ----------
    first, second : Share
        From :func:`~crosses.calc.rates.wilson`, of one confidence, with something tried.

    Raises
    ------
    BadInput
        If nothing was tried on one side, or the confidences differ.

    Notes
    -----
    The hybrid score interval, method 10 of Newcombe (1998), Statistics in Medicine 17, 873-890.

    Examples
    --------
    >>> from crosses.calc.rates import wilson
    >>> difference_of_shares(wilson(29, 140), wilson(78, 120)).sentence
    '44 points more (33 to 54)'

    """
    if first.estimate is None or second.estimate is None:
        raise BadInput(
            "Nothing was tried on one side.", field="first" if first.n == 0 else "second"
        )
    if first.confidence != second.confidence:
        raise BadInput("The two intervals are of different confidence.", field="second")
    return _difference(
        (first.estimate, first.low, first.high), (second.estimate, second.low, second.high)
    )


def log_rank(first: Counts | Sequence[Counts], second: Counts | Sequence[Counts]) -> LogRank:
    """Compare how soon and how many came, over the looks both sides share.

    Parameters
    ----------
    first, second : Counts or sequence of Counts
        The sowings of each side, all looked at on the same days; a sowing may end sooner.

    Raises
    ------
    BadInput
        If a side has no sowing, or a sowing was not looked at on the days of the others: the day of
        finding would then favour whoever looked more often.

    Notes
    -----
    Mantel's log-rank test. All found at one look are tied at that day; seeds not found stay at risk
    up to the last look of their sowing; variance hypergeometric.

    Examples
    --------
    >>> from seedbank.calc.germination.counts import read_counts
    >>> sooner = read_counts(50, [7, 14, 21], [20, 10, 2])
    >>> later = read_counts(50, [7, 14, 21], [4, 15, 11])
    >>> log_rank(sooner, later).sentence
    '32 seedlings on the first side, where 27.0 would be expected if both came alike (p 0.129).'

    """
    sides = [[side] if isinstance(side, Counts) else list(side) for side in (first, second)]
    for side, name in zip(sides, ("first", "second"), strict=True):
        if not side:
            raise BadInput("Each side has at least one sowing.", field=name)
    days = _common_days([counts for side in sides for counts in side])
    (came_first, risk_first), (came_second, risk_second) = (
        _came_and_at_risk(side, days) for side in sides
    )
    came, risk = came_first + came_second, risk_first + risk_second
    # A look at which nothing was left to come says nothing; a last seed comes whatever its side.
    expected = float((came * risk_first / np.maximum(risk, 1)).sum())
    ties = (risk - came) / np.maximum(risk - 1, 1)
    variance = float((came * risk_first * risk_second * ties / np.maximum(risk, 1) ** 2).sum())
    observed = int(came_first.sum())
    if variance == 0:
        return LogRank(None, None, observed, expected, "The courses cannot be compared.")
    chi_square = (observed - expected) ** 2 / variance
    p_value = float(chdtrc(1, chi_square))
    return LogRank(
        chi_square,
        p_value,
        observed,
        expected,
        f"{observed} seedlings on the first side, where {expected:.1f} would be expected if both "
        f"came alike ({p_words(p_value)}).",
    )


def beta_binomial_test(
    first: Sequence[tuple[int, int]], second: Sequence[tuple[int, int]]
) -> float:
    """Chance of so large a difference of means, were they equal, given how sowings scatter.

    Parameters
    ----------
    first, second : sequence of (came, sown)
        The sowings of each side.

    Raises
    ------
    BadInput
        If a side has no seed, or a count cannot be.

    Notes
    -----
    Likelihood-ratio test of equal means with one correlation within sowings common to both sides;
    at a correlation of nought it is the binomial one.

    Examples
    --------
    >>> alike = [(8, 20), (11, 20), (9, 20)]
    >>> round(beta_binomial_test(alike, alike), 6)
    1.0

    """
    sides = [tally(first), tally(second)]
    apart = fit_common_scatter(sides).log_likelihood
    together = fit_common_scatter([tally([*first, *second])]).log_likelihood
    return float(chdtrc(1, max(0.0, 2 * (apart - together))))


def compare_treatments(
    first: Sequence[tuple[int, int]],
    second: Sequence[tuple[int, int]],
    confidence: float = 0.95,
) -> Comparison:
    """Compare the share that came under two treatments.

    Parameters
    ----------
    first, second : sequence of (came, sown)
        The sowings of each side.
    confidence : float
        Of the intervals, between 0 and 1.

    Raises
    ------
    BadInput
        If a side has no seed, or a count or the confidence cannot be.

    Examples
    --------
    >>> compare_treatments([(78, 120)], [(29, 140)]).may_claim
    False

    """
    one, two = pool_sowings(first, confidence), pool_sowings(second, confidence)
    difference = _difference(
        (one.mean, one.mean_low, one.mean_high), (two.mean, two.mean_low, two.mean_high)
    )
    may_claim = min(one.sowings, two.sowings) >= FEWEST_SOWINGS_A_SIDE
    p_value = beta_binomial_test(first, second) if may_claim else None
    if p_value is None:
        verdict = (
            "from fewer than three sowings a side no claim is made, since pot and treatment "
            "cannot be told apart"
        )
    else:
        verdict = f"{p_words(p_value)}, allowing for the scatter between sowings"
    sizes = (f"{sowings_words(side.sowings)} of {side.sown} seeds" for side in (one, two))
    return Comparison(
        first=one,
        second=two,
        difference=difference,
        p_value=p_value,
        may_claim=may_claim,
        sentence=f"{' against '.join(sizes)}: {difference.sentence}; {verdict}.",
    )


def _difference(
    first: tuple[float, float, float], second: tuple[float, float, float]
) -> Difference:
    """Second less first, each given as estimate, low and high."""
    estimate = second[0] - first[0]
    low = estimate - math.hypot(second[0] - second[1], first[2] - first[0])
    high = estimate + math.hypot(second[2] - second[0], first[0] - first[1])
    points, ends = round(100 * estimate), sorted((round(100 * low), round(100 * high)))
    if points < 0:
        return Difference(estimate, low, high, f"{-points} points fewer ({-ends[1]} to {-ends[0]})")
    return Difference(estimate, low, high, f"{points} points more ({ends[0]} to {ends[1]})")


def _common_days(several: Sequence[Counts]) -> NDArray[np.float64]:
    days = max((counts.days for counts in several), key=len)
    for counts in several:
        if not np.array_equal(counts.days, days[: len(counts.days)]):
            raise BadInput(
                "The two sides were not looked at on the same days, so their courses cannot be "
                "compared; compare what came in all.",
                field="second",
            )
    return days


def _came_and_at_risk(
    side: Sequence[Counts], days: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Seedlings found at each look, and seeds not found before it in sowings still looked at."""
    came, risk = np.zeros(len(days)), np.zeros(len(days))
    for counts in side:
        looks = len(counts.days)
        came[:looks] += counts.new
        risk[:looks] += counts.sown - (counts.totals - counts.new)
    return came, risk


def p_words(p_value: float) -> str:
    """Write a p-value with three decimals, and one that is smaller as such."""
    return "p under 0.001" if p_value < 0.001 else f"p {p_value:.3f}"
