"""The pooled history of a kind of seed: its mean, and what the next sowing may bring."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from scipy.optimize import brentq
from scipy.special import chdtri

from crosses.calc.errors import BadInput
from crosses.calc.rates import Share, whole_percent, wilson
from seedbank.calc.germination.betabinomial import (
    Tally,
    fit_common_scatter,
    fit_scatter_at,
    tally,
)
from seedbank.calc.germination.expectation import expect_next_sowing

LEAST_RHO = 1e-5


@dataclass(frozen=True, slots=True)
class Pooled:
    """All sowings of one kind taken together.

    Attributes
    ----------
    mean, mean_low, mean_high : float
        Mean share over sowings and its interval.
    next_low, next_high : float
        Interval for the share of the next sowing, which is wider.
    rho : float
        Correlation of two seeds of one sowing; 0 when sowings differ no more than by chance.
    is_binomial : bool
        Whether the scatter between sowings was taken as none.
    sowings, came, sown : int
        What stands behind it.
    confidence : float
        Of both intervals.
    basis : str
        How the scatter between sowings was treated.
    sentence : str
        All of it in words.

    """

    mean: float
    mean_low: float
    mean_high: float
    next_low: float
    next_high: float
    rho: float
    is_binomial: bool
    sowings: int
    came: int
    sown: int
    confidence: float
    basis: str
    sentence: str


def pool_sowings(sowings: Sequence[tuple[int, int]], confidence: float = 0.95) -> Pooled:
    """Pool sowings of one kind, letting their true shares differ.

    Parameters
    ----------
    sowings : sequence of (came, sown)
        Seedlings and seeds of each; sowings without seed are passed over.
    confidence : float
        Of the intervals, between 0 and 1.

    Raises
    ------
    BadInput
        If there is no seed, or a count or the confidence cannot be.

    Notes
    -----
    Mean and scatter are those of the beta-binomial law by maximum likelihood, the mean's interval
    its profile. A scatter of nought falls back to the binomial law and is said so. The interval for
    the next sowing averages over all means and scatters in proportion to how well they explain the
    counts, because a scatter plugged in from few sowings makes it too narrow.

    Examples
    --------
    >>> pool_sowings([(78, 120), (66, 110), (71, 100)]).sowings
    3

    """
    if not 0 < confidence < 1:
        raise BadInput("The confidence is a fraction between 0 and 1.", field="confidence")
    counted = tally(sowings)
    coming = expect_next_sowing(sowings)
    next_low, next_high = (coming.quantile((1 + side * confidence) / 2) for side in (-1, 1))
    share, rho = _mean(counted, confidence)
    mean, low, high = share.estimate or 0.0, share.low, share.high
    is_single, is_one_sided = counted.sowings == 1, counted.came in (0, counted.sown)
    is_binomial = share.method == "wilson"
    basis = _basis(is_single=is_single, is_one_sided=is_one_sided, is_binomial=is_binomial)
    return Pooled(
        mean=mean,
        mean_low=low,
        mean_high=high,
        next_low=next_low,
        next_high=next_high,
        rho=rho,
        is_binomial=is_binomial,
        sowings=counted.sowings,
        came=counted.came,
        sown=counted.sown,
        confidence=confidence,
        basis=basis,
        sentence=(
            f"{whole_percent(mean)} % on average ({whole_percent(low)}-{whole_percent(high)} %) "
            f"from {counted.came} of {counted.sown} seeds in {sowings_words(counted.sowings)}; "
            f"the next sowing may bring {whole_percent(next_low)}-{whole_percent(next_high)} %. "
            f"{basis}"
        ),
    )


def pooled_share(sowings: Sequence[tuple[int, int]], confidence: float = 0.95) -> Share:
    """Give the mean share of sowings of one kind with its interval, as :func:`pool_sowings` does.

    Leaves out what the next sowing may bring, which takes twenty times as long to reckon; a list of
    a hundred lots asks for the mean only.

    Parameters
    ----------
    sowings : sequence of (came, sown)
        Seedlings and seeds of each; sowings without seed are passed over.
    confidence : float
        Of the interval, between 0 and 1.

    Returns
    -------
    Share
        Its `x` and `n` are all seedlings and all seeds. Where sowings differ more than by chance
        its method is ``"pooled"`` and its estimate the mean over sowings, which is not ``x / n``.

    Raises
    ------
    BadInput
        If there is no seed, or a count or the confidence cannot be.

    Examples
    --------
    >>> share = pooled_share([(5, 20), (15, 20), (3, 20)])
    >>> share.x, share.n, share.method, round(share.low, 2), round(share.high, 2)
    (23, 60, 'pooled', 0.15, 0.71)

    """
    if not 0 < confidence < 1:
        raise BadInput("The confidence is a fraction between 0 and 1.", field="confidence")
    return _mean(tally(sowings), confidence)[0]


def _mean(counted: Tally, confidence: float) -> tuple[Share, float]:
    """Mean share with its interval, and the correlation of two seeds of one sowing."""
    share = wilson(counted.came, counted.sown, confidence)
    is_one_sided = counted.came in (0, counted.sown)
    if counted.sowings == 1:
        return share, 0.0
    fitted = fit_common_scatter([counted])
    if not is_one_sided and fitted.rho < LEAST_RHO:
        return share, 0.0
    mean = counted.came / counted.sown if is_one_sided else fitted.means[0]
    low, high = _mean_interval(counted, fitted.log_likelihood, mean, confidence)
    pooled = replace(share, estimate=mean, low=low, high=high, method="pooled")
    return pooled, 0.0 if is_one_sided else fitted.rho


def _mean_interval(
    counted: Tally, highest: float, mean: float, confidence: float
) -> tuple[float, float]:
    """Means whose best scatter explains the counts not much worse than the best of all."""
    allowed = float(chdtri(1, 1 - confidence))

    def excess(candidate: float) -> float:
        return 2 * (highest - fit_scatter_at(candidate, counted).log_likelihood) - allowed

    near_none, near_all = 1e-9, 1 - 1e-9
    low = 0.0 if counted.came == 0 else float(brentq(excess, near_none, min(mean, near_all)))
    if counted.came == counted.sown:
        return low, 1.0
    return low, float(brentq(excess, max(mean, near_none), near_all))


def _basis(*, is_single: bool, is_one_sided: bool, is_binomial: bool) -> str:
    if is_single:
        return "One sowing only: how much sowings differ is not known from it."
    if is_one_sided:
        return "None or all came in every sowing, so any scatter between sowings is allowed for."
    if is_binomial:
        return "Sowings differ no more than by chance, so the seeds are counted as one lot."
    return "Sowings differ more than by chance, and the intervals allow for it."


def sowings_words(number: int) -> str:
    """Write a number of sowings.

    >>> sowings_words(1), sowings_words(3)
    ('1 sowing', '3 sowings')
    """
    return f"{number} sowing{'' if number == 1 else 's'}"
