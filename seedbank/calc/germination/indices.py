"""The classical numbers of one sowing, each under its full name.

Several indices share a name in print, and several names share a formula; the docstring of each
field says which one is meant. Where an index has no value it is None, never 0: a sowing in which
nothing came up has no mean time.
"""

from dataclasses import dataclass

import numpy as np

from crosses.calc.rates import Share, exact, wilson
from seedbank.calc.germination.counts import Counts

UNEQUAL_GAPS = (
    "The looks are not evenly spaced, so Timson's index cannot be compared with another sowing's."
)

# The constant of Djavanshir and Pourbeik (1976) for counts in percent and days.
DJAVANSHIR_POURBEIK_CONSTANT = 10


@dataclass(frozen=True, slots=True)
class GerminationIndices:
    """All indices of one sowing. Days are after sowing; None where there is no value.

    Write ``x`` for the new seedlings at a look on day ``T``, ``X`` for the running total, ``N``
    for all that came and ``n`` for all sown.

    Attributes
    ----------
    final_share, final_share_exact : Share
        ``N / n`` with the score and with the exact interval, both of 95 %.
    mean_germination_time_days : float or None
        ``sum x T / N``, taking each seed to have come on the day it was found: an upper end.
    mean_germination_time_lower_days : float or None
        The same with the day of the look before: the true mean lies between the two.
    variance_days2, standard_error_days, coefficient_of_variation : float or None
        Spread of the germination times about their mean, over ``N - 1``; ``sqrt(variance / N)``;
        standard deviation over mean.
    mean_rate_per_day, mean_rate_variance_per_day2, coefficient_of_velocity : float or None
        ``1 / mean time``, its variance ``variance / mean time^4``, and ``100 / mean time``
        (Kotowski 1926). The last is not the coefficient of variation, though both are called CVG.
    median_time_coolbear_days, median_time_farooq_days : float or None
        Day on which the line through the running totals reaches ``(N + 1) / 2`` (Coolbear and
        others 1984) or ``N / 2`` (Farooq and others 2005): the middle of those that came.
    median_time_of_all_sown_days : float or None
        The same line at ``n / 2``; None if fewer than half of the seeds sown came up.
    uncertainty_bits : float or None
        ``-sum (x / N) log2 (x / N)`` (Labouriau and Valadares 1976).
    synchrony : float or None
        ``sum x (x - 1) / (N (N - 1))`` (Primack 1980; Ranal and Santana 2006).
    speed_maguire_per_day : float
        ``sum x / T`` (Maguire 1962), also printed as emergence rate index or germination index.
    melville_germination_index_days : float
        ``sum (last look - T) x / n`` (Melville and others 1980), printed as germination index too.
    timson : float
        Sum of the running percentages over all looks (Timson 1965).
    timson_note : str
        Why `timson` may not be compared; empty when the looks are evenly spaced.
    peak_value, mean_daily_percent, germination_value_czabator : float
        Highest of running percentage over day; final percentage over the day of the last *look*;
        their product (Czabator 1962).
    germination_value_djavanshir_pourbeik : float
        Highest of (mean of running percentage over day, from the first germination on) times
        ``X / n`` times 10 (Djavanshir and Pourbeik 1976).
    uniformity_per_day2 : float or None
        ``N / sum x (T - mean)^2`` (Heydecker 1973).
    first_day, last_day, spread_days : float or None
        Days on which the first and the last seedling were found, and the days between.
    peak_days : tuple of float
        Day or days on which most were found; empty when none were.

    """

    final_share: Share
    final_share_exact: Share
    mean_germination_time_days: float | None
    mean_germination_time_lower_days: float | None
    variance_days2: float | None
    standard_error_days: float | None
    coefficient_of_variation: float | None
    mean_rate_per_day: float | None
    mean_rate_variance_per_day2: float | None
    coefficient_of_velocity: float | None
    median_time_coolbear_days: float | None
    median_time_farooq_days: float | None
    median_time_of_all_sown_days: float | None
    uncertainty_bits: float | None
    synchrony: float | None
    speed_maguire_per_day: float
    melville_germination_index_days: float
    timson: float
    timson_note: str
    peak_value: float
    mean_daily_percent: float
    germination_value_czabator: float
    germination_value_djavanshir_pourbeik: float
    uniformity_per_day2: float | None
    first_day: float | None
    last_day: float | None
    spread_days: float | None
    peak_days: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _Times:
    """Mean, lower mean and sum of squares of the days of finding; None when nothing came."""

    mean: float | None
    mean_lower: float | None
    squares: float | None
    variance: float | None


def describe(counts: Counts) -> GerminationIndices:
    """Reckon every index of one sowing.

    Parameters
    ----------
    counts : Counts
        From :func:`~seedbank.calc.germination.counts.read_counts`.

    See Also
    --------
    seedbank.calc.germination.many.describe_many : the same for thousands of sowings at once.

    Examples
    --------
    >>> from seedbank.calc.germination.counts import read_counts
    >>> indices = describe(read_counts(10, [7, 14, 21], [2, 4, 2]))
    >>> indices.mean_germination_time_days, indices.mean_germination_time_lower_days
    (14.0, 7.0)
    >>> indices.median_time_of_all_sown_days
    12.25

    """
    sown, came, days = counts.sown, counts.germinated, counts.days
    times = _times(counts)
    percents = 100 * counts.totals / sown
    peak_value = float((percents / days).max())
    mean_daily_percent = 100 * came / sown / float(days[-1])
    found = days[counts.new > 0]
    mean, variance = times.mean, times.variance
    return GerminationIndices(
        final_share=wilson(came, sown),
        final_share_exact=exact(came, sown),
        mean_germination_time_days=mean,
        mean_germination_time_lower_days=times.mean_lower,
        variance_days2=variance,
        standard_error_days=None if variance is None else float(np.sqrt(variance / came)),
        coefficient_of_variation=(
            None if variance is None or mean is None else float(np.sqrt(variance)) / mean
        ),
        mean_rate_per_day=None if mean is None else 1 / mean,
        mean_rate_variance_per_day2=(
            None if variance is None or mean is None else variance / mean**4
        ),
        coefficient_of_velocity=None if mean is None else 100 / mean,
        median_time_coolbear_days=_day_reaching(counts, (came + 1) / 2) if came else None,
        median_time_farooq_days=_day_reaching(counts, came / 2) if came else None,
        median_time_of_all_sown_days=_day_reaching(counts, sown / 2),
        uncertainty_bits=_uncertainty_bits(counts),
        synchrony=_synchrony(counts),
        speed_maguire_per_day=float((counts.new / days).sum()),
        melville_germination_index_days=float(((days[-1] - days) * counts.new).sum()) / sown,
        timson=float(percents.sum()),
        timson_note="" if has_equal_gaps(counts) else UNEQUAL_GAPS,
        peak_value=peak_value,
        mean_daily_percent=mean_daily_percent,
        germination_value_czabator=peak_value * mean_daily_percent,
        germination_value_djavanshir_pourbeik=_djavanshir_pourbeik(counts),
        uniformity_per_day2=came / times.squares if times.squares else None,
        first_day=float(found[0]) if came else None,
        last_day=float(found[-1]) if came else None,
        spread_days=float(found[-1] - found[0]) if came else None,
        peak_days=tuple(days[counts.new == counts.new.max()].tolist()) if came else (),
    )


def has_equal_gaps(counts: Counts) -> bool:
    """Whether the looks are evenly spaced, to a millionth of a day."""
    gaps = np.diff(counts.days)
    return len(gaps) == 0 or float(np.ptp(gaps)) < 1e-6


def _times(counts: Counts) -> _Times:
    came = counts.germinated
    if came == 0:
        return _Times(None, None, None, None)
    # Days are counted from the first found, so that seedlings all found on one day have a spread
    # of exactly 0 and not of a rounding error.
    first = float(counts.days[counts.new > 0][0])
    later = counts.days - first
    mean_later = float((counts.new * later).sum()) / came
    squares = float((counts.new * (later - mean_later) ** 2).sum())
    return _Times(
        mean=first + mean_later,
        mean_lower=float((counts.new * counts.days_before).sum()) / came,
        squares=squares,
        variance=squares / (came - 1) if came > 1 else None,
    )


def _day_reaching(counts: Counts, target: float) -> float | None:
    """First day on which the line through the running totals reaches `target`, which is above 0."""
    totals = counts.totals
    if totals[-1] < target:
        return None
    look = int(np.searchsorted(totals, target))
    day, gap = float(counts.days[look]), float(counts.days[look] - counts.days_before[look])
    # Reckoned back from the look itself: a total that equals the target gives exactly that day.
    return day - gap * float(totals[look] - target) / float(counts.new[look])


def _uncertainty_bits(counts: Counts) -> float | None:
    came = counts.germinated
    if came == 0:
        return None
    shares = counts.new[counts.new > 0] / came
    return abs(float((shares * np.log2(shares)).sum()))


def _synchrony(counts: Counts) -> float | None:
    came = counts.germinated
    if came < 2:
        return None
    return float((counts.new * (counts.new - 1)).sum()) / (came * (came - 1))


def _djavanshir_pourbeik(counts: Counts) -> float:
    if counts.germinated == 0:
        return 0.0
    first = int(np.flatnonzero(counts.new)[0])
    shares = counts.totals[first:] / counts.sown
    daily_percents = 100 * shares / counts.days[first:]
    means_so_far = np.cumsum(daily_percents) / np.arange(1, len(daily_percents) + 1)
    return float((means_so_far * shares).max()) * DJAVANSHIR_POURBEIK_CONSTANT
