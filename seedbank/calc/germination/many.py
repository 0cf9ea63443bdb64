"""The indices of thousands of sowings at once, in a few passes over flat arrays.

The definitions are those of :mod:`seedbank.calc.germination.indices`, which reads more easily and
serves one sowing; the tests hold the two to the same answers.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaincinv

from crosses.calc.errors import BadInput
from crosses.calc.rates import normal_quantile
from seedbank.calc.germination.indices import DJAVANSHIR_POURBEIK_CONSTANT

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class ManyIndices:
    """Indices of many sowings: arrays of shape (sowings,), nan where there is no value.

    The fields mean what they mean in
    :class:`~seedbank.calc.germination.indices.GerminationIndices`; the shares are taken apart into
    estimate and ends of the 95 % intervals. Peak days are left out: there may be several a sowing.
    """

    final_share: Floats
    final_share_low: Floats
    final_share_high: Floats
    final_share_exact_low: Floats
    final_share_exact_high: Floats
    mean_germination_time_days: Floats
    mean_germination_time_lower_days: Floats
    variance_days2: Floats
    standard_error_days: Floats
    coefficient_of_variation: Floats
    mean_rate_per_day: Floats
    mean_rate_variance_per_day2: Floats
    coefficient_of_velocity: Floats
    median_time_coolbear_days: Floats
    median_time_farooq_days: Floats
    median_time_of_all_sown_days: Floats
    uncertainty_bits: Floats
    synchrony: Floats
    speed_maguire_per_day: Floats
    melville_germination_index_days: Floats
    timson: Floats
    has_equal_gaps: NDArray[np.bool_]
    peak_value: Floats
    mean_daily_percent: Floats
    germination_value_czabator: Floats
    germination_value_djavanshir_pourbeik: Floats
    uniformity_per_day2: Floats
    first_day: Floats
    last_day: Floats
    spread_days: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Looks:
    """Flat looks of all sowings: `starts` and `ends` bound each sowing, `row` names it per look."""

    sown: Integers
    starts: Integers
    ends: Integers
    row: Integers
    days: Floats
    days_before: Floats
    new: Integers
    totals: Integers
    came: Integers

    def sums(self, values: NDArray[np.generic]) -> Floats:
        """Sum of `values` over the looks of each sowing."""
        return np.add.reduceat(values, self.starts).astype(np.float64)

    def highest(self, values: Floats) -> Floats:
        """Highest of `values` over the looks of each sowing."""
        return np.maximum.reduceat(values, self.starts)

    def running(self, values: Floats) -> Floats:
        """Sum of `values` up to and including each look, within its sowing."""
        summed = np.cumsum(values)
        before = summed[self.starts] - values[self.starts]
        return summed - before[self.row]


def describe_many(
    sown: ArrayLike, offsets: ArrayLike, days: ArrayLike, counts: ArrayLike
) -> ManyIndices:
    """Reckon the indices of many sowings at once.

    Parameters
    ----------
    sown : array of int, shape (sowings,)
        Seeds sown in each.
    offsets : array of int, shape (sowings + 1,)
        Sowing i owns the looks ``offsets[i]`` up to but not including ``offsets[i + 1]``.
    days : array of float, shape (looks,)
        Days after sowing, above 0 and increasing within a sowing.
    counts : array of int, shape (looks,)
        Seedlings newly seen.

    Raises
    ------
    BadInput
        With the position of the first sowing that cannot be true, counted from 0.

    Examples
    --------
    >>> indices = describe_many([10, 5], [0, 3, 5], [7, 14, 21, 7, 14], [2, 4, 2, 0, 0])
    >>> indices.mean_germination_time_days
    array([14., nan])

    """
    looks = _read(sown, offsets, days, counts)
    with np.errstate(divide="ignore", invalid="ignore"):
        return _reckon(looks)


def _reckon(looks: _Looks) -> ManyIndices:
    came, sown = looks.came.astype(np.float64), looks.sown.astype(np.float64)
    share_low, share_high = _wilson(came, sown)
    exact_low, exact_high = _exact(came, sown)
    first_day, last_day = _first_and_last(looks)
    mean, squares, variance = _times(looks, came, first_day)
    percents = 100 * looks.totals / looks.sown[looks.row]
    last_look = looks.days[looks.ends - 1]
    peak_value = looks.highest(percents / looks.days)
    mean_daily_percent = 100 * came / sown / last_look
    until_last_look = last_look[looks.row] - looks.days
    return ManyIndices(
        final_share=came / sown,
        final_share_low=share_low,
        final_share_high=share_high,
        final_share_exact_low=exact_low,
        final_share_exact_high=exact_high,
        mean_germination_time_days=mean,
        mean_germination_time_lower_days=looks.sums(looks.new * looks.days_before) / came,
        variance_days2=variance,
        standard_error_days=np.sqrt(variance / came),
        coefficient_of_variation=np.sqrt(variance) / mean,
        mean_rate_per_day=1 / mean,
        mean_rate_variance_per_day2=variance / mean**4,
        coefficient_of_velocity=100 / mean,
        median_time_coolbear_days=_day_reaching(looks, came + 1),
        median_time_farooq_days=_day_reaching(looks, came),
        median_time_of_all_sown_days=_day_reaching(looks, sown),
        uncertainty_bits=_uncertainty_bits(looks, came),
        synchrony=_synchrony(looks, came),
        speed_maguire_per_day=looks.sums(looks.new / looks.days),
        melville_germination_index_days=looks.sums(until_last_look * looks.new) / sown,
        timson=looks.sums(percents),
        has_equal_gaps=_has_equal_gaps(looks),
        peak_value=peak_value,
        mean_daily_percent=mean_daily_percent,
        germination_value_czabator=peak_value * mean_daily_percent,
        germination_value_djavanshir_pourbeik=_djavanshir_pourbeik(looks, percents),
        uniformity_per_day2=came / np.where(squares > 0, squares, np.nan),
        first_day=first_day,
        last_day=last_day,
        spread_days=last_day - first_day,
    )


def _read(sown: ArrayLike, offsets: ArrayLike, days: ArrayLike, counts: ArrayLike) -> _Looks:
    seeds = _whole(sown, "sown")
    bounds = _whole(offsets, "offsets")
    looked = np.asarray(days, dtype=np.float64)
    new = _whole(counts, "counts")
    if len(bounds) != len(seeds) + 1 or bounds[0] != 0 or bounds[-1] != len(looked):
        raise BadInput(
            "The offsets run from 0 to the number of looks, one more than there are sowings.",
            field="offsets",
        )
    if len(new) != len(looked):
        raise BadInput("Each look has one day and one count.", field="counts")
    per_sowing = np.diff(bounds)
    _refuse(per_sowing < 1, "Sowing {}: nobody has looked at it yet.", "offsets")
    _refuse(seeds < 1, "Sowing {}: a sowing has at least one seed.", "sown")
    starts = bounds[:-1]
    row = np.repeat(np.arange(len(seeds)), per_sowing)
    before = np.concatenate(([0.0], looked[:-1])) if len(looked) else looked.copy()
    before[starts] = 0.0
    out_of_order = ~(looked > before) | np.isinf(looked)
    _refuse(out_of_order, "Sowing {}: its days do not increase from after sowing.", "days", row)
    _refuse(new < 0, "Sowing {}: a count cannot be below nought.", "counts", row)
    summed = np.concatenate(([0], np.cumsum(new)))
    came = summed[bounds[1:]] - summed[starts]
    _refuse(came > seeds, "Sowing {}: more came up than were sown.", "counts")
    totals = summed[1:] - summed[starts][row]
    return _Looks(seeds, starts, bounds[1:], row, looked, before, new, totals, came)


def _whole(values: ArrayLike, field: str) -> Integers:
    array = np.asarray(values)
    if array.size and not np.issubdtype(array.dtype, np.integer):
        raise BadInput("Count in whole numbers.", field=field)
    return array.astype(np.int64)


def _refuse(bad: NDArray[np.bool_], words: str, field: str, row: Integers | None = None) -> None:
    places = np.flatnonzero(bad)
    if len(places):
        raise BadInput(words.format(places[0] if row is None else row[places[0]]), field=field)


def _empty_below(fewest: int, came: Floats, values: Floats) -> Floats:
    return np.where(came >= fewest, values, np.nan)


def _wilson(came: Floats, sown: Floats) -> tuple[Floats, Floats]:
    share = came / sown
    z = normal_quantile(0.975)
    centre = share + z * z / (2 * sown)
    reach = z * np.sqrt(share * (1 - share) / sown + z * z / (4 * sown * sown))
    widened = 1 + z * z / sown
    low = np.where(came == 0, 0.0, (centre - reach) / widened)
    high = np.where(came == sown, 1.0, (centre + reach) / widened)
    return low, high


def _exact(came: Floats, sown: Floats) -> tuple[Floats, Floats]:
    low = np.where(came == 0, 0.0, betaincinv(np.maximum(came, 1), sown - came + 1, 0.025))
    high = np.where(came == sown, 1.0, betaincinv(came + 1, np.maximum(sown - came, 1), 0.975))
    return low, high


def _first_and_last(looks: _Looks) -> tuple[Floats, Floats]:
    first = np.minimum.reduceat(np.where(looks.new > 0, looks.days, np.inf), looks.starts)
    last = looks.highest(np.where(looks.new > 0, looks.days, -np.inf))
    return np.where(looks.came > 0, first, np.nan), np.where(looks.came > 0, last, np.nan)


def _times(looks: _Looks, came: Floats, first_day: Floats) -> tuple[Floats, Floats, Floats]:
    """Mean, sum of squares and variance of the days of finding, counted from the first found."""
    later = looks.days - first_day[looks.row]
    mean_later = looks.sums(looks.new * later) / came
    squares = looks.sums(looks.new * (later - mean_later[looks.row]) ** 2)
    variance = _empty_below(2, came, squares) / (came - 1)
    return first_day + mean_later, squares, variance


def _day_reaching(looks: _Looks, twice_target: Floats) -> Floats:
    """Day on which the line through the running totals first reaches half of `twice_target`.

    Twice the target is a whole number in every definition, so the comparison is exact.
    """
    target = twice_target[looks.row]
    reaches = (2 * looks.totals >= target) & (2 * (looks.totals - looks.new) < target)
    days, before = looks.days[reaches], looks.days_before[reaches]
    back = (looks.totals[reaches] - target[reaches] / 2) / looks.new[reaches]
    reached = np.full(len(looks.sown), np.nan)
    reached[looks.row[reaches]] = days - (days - before) * back
    return reached


def _uncertainty_bits(looks: _Looks, came: Floats) -> Floats:
    shares = looks.new / came[looks.row]
    # A look at which nothing came adds nothing: the limit of s log s at 0.
    terms = np.where(looks.new > 0, shares * np.log2(np.where(looks.new > 0, shares, 1.0)), 0.0)
    return _empty_below(1, came, np.abs(looks.sums(terms)))


def _synchrony(looks: _Looks, came: Floats) -> Floats:
    pairs = looks.sums(looks.new * (looks.new - 1))
    return _empty_below(2, came, pairs) / (came * (came - 1))


def _has_equal_gaps(looks: _Looks) -> NDArray[np.bool_]:
    gaps = looks.days - looks.days_before
    is_first = np.zeros(len(gaps), dtype=bool)
    is_first[looks.starts] = True
    widest = looks.highest(np.where(is_first, -np.inf, gaps))
    narrowest = np.minimum.reduceat(np.where(is_first, np.inf, gaps), looks.starts)
    # With a single look the difference is minus infinity: nothing to be uneven.
    return widest - narrowest < 1e-6


def _djavanshir_pourbeik(looks: _Looks, percents: Floats) -> Floats:
    has_begun = (looks.totals > 0).astype(np.float64)
    looks_since_first = np.maximum(looks.running(has_begun), 1)
    means_so_far = looks.running(percents / looks.days) / looks_since_first
    return looks.highest(means_so_far * percents / 100) * DJAVANSHIR_POURBEIK_CONSTANT
