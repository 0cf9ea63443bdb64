"""By which day a share of the seeds has come, and how sure that is."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from crosses.calc.errors import BadInput
from seedbank.calc.germination.counts import read_counts
from seedbank.calc.germination.curve import fit_curve
from seedbank.calc.germination.reaching import time_to_share

FIFTY_SEEDS = read_counts(50, range(1, 15), [0, 0, 0, 0, 4, 17, 10, 7, 1, 0, 1, 0, 0, 0])
STILL_SLOWING = read_counts(60, [7, 14, 21, 28, 35], [2, 12, 14, 7, 3])
ALL_UP = read_counts(40, [3, 6, 9, 12, 15, 18], [2, 11, 14, 8, 4, 1])
LAWS = {
    "log_logistic": lambda e, b: stats.fisk(c=b, scale=e),
    "log_normal": lambda e, b: stats.lognorm(s=1 / b, scale=e),
    "weibull": lambda e, b: stats.weibull_min(c=b, scale=e / math.log(2) ** (1 / b)),
}


def highest_through(counts, family, day, share):
    """Highest likelihood of a curve at `share` on `day`, by another road: scipy's laws, no slopes."""

    def cost(free):
        steepness, come = math.exp(free[0]), share + (1 - share) / (1 + math.exp(-free[1]))
        # On the day a part share/come of those that come is up; that settles the median.
        median = day / LAWS[family](1.0, steepness).ppf(share / come)
        up = come * LAWS[family](median, steepness).cdf([0, *counts.days])
        with np.errstate(divide="ignore", invalid="ignore"):
            value = counts.new @ np.log(np.maximum(np.diff(up), 1e-300))
        left = counts.sown - counts.germinated
        return -(value + (left * math.log(max(1 - up[-1], 1e-300)) if left else 0))

    starts = [(math.log(b), c) for b in (2.0, 6.0) for c in (-2.0, 2.0)]
    options = {"xatol": 1e-8, "fatol": 1e-10, "maxiter": 4000}
    return max(
        -optimize.minimize(cost, start, method="Nelder-Mead", options=options).fun
        for start in starts
    )


@pytest.mark.parametrize("family", list(LAWS))
@pytest.mark.parametrize(
    ("counts", "share"), [(FIFTY_SEEDS, 0.5), (STILL_SLOWING, 0.5), (STILL_SLOWING, 0.2)]
)
def test_the_ends_lie_where_the_likelihood_has_fallen_by_the_chi_square(family, counts, share):
    curve = fit_curve(counts, family)
    found = time_to_share(curve, share)
    for end in (found.low, found.high):
        fall = 2 * (curve.log_likelihood - highest_through(counts, family, end, share))
        assert fall == pytest.approx(stats.chi2.ppf(0.95, 1), abs=5e-3)


def test_the_median_of_seeds_that_all_came_has_the_interval_of_the_curve():
    curve = fit_curve(read_counts(400, ALL_UP.days, ALL_UP.new * 10))
    found = time_to_share(curve, 0.5)
    assert found.day == pytest.approx(curve.median_days.value, rel=1e-6)
    assert found.low == pytest.approx(curve.median_days.low, rel=5e-3)
    assert found.high == pytest.approx(curve.median_days.high, rel=5e-3)


def test_a_share_next_to_the_final_one_may_never_be_reached():
    found = time_to_share(fit_curve(FIFTY_SEEDS), 0.75)
    assert found.high is None
    assert "or never" in found.sentence


def test_a_share_the_fit_does_not_reach_has_a_soonest_day_where_the_counts_allow_it():
    found = time_to_share(fit_curve(FIFTY_SEEDS), 0.85)
    assert found.day is None
    assert found.low > 7
    assert "if they do, not before day" in found.sentence


def test_a_share_out_of_the_question_has_no_day_at_all():
    found = time_to_share(fit_curve(FIFTY_SEEDS), 0.95)
    assert (found.day, found.low, found.high) == (None, None, None)
    assert found.sentence == "95 % of all seeds do not come."


def test_sowings_that_differ_widen_the_interval():
    days = [5, 7, 9, 12, 20, 40]
    alike = [read_counts(20, days, [2, 5, 4, 1, 0, 0])] * 6
    unlike = [read_counts(20, days, new) for new in ([4, 9, 5, 2, 0, 0], [0, 2, 1, 1, 0, 0]) * 3]
    even, uneven = (time_to_share(fit_curve(each), 0.3) for each in (alike, unlike))
    assert uneven.day == pytest.approx(even.day, rel=0.05)
    assert math.log(uneven.high / uneven.low) > 1.5 * math.log(even.high / even.low)


@given(
    st.lists(st.integers(0, 9), min_size=4, max_size=8).filter(lambda new: sum(new) > 3),
    st.integers(0, 20),
    st.floats(0.05, 0.95),
)
@settings(max_examples=40, deadline=None)
def test_the_interval_holds_the_day(new, left, share):
    days = np.arange(1, len(new) + 1) * 3
    curve = fit_curve(read_counts(sum(new) + left, days, new))
    if not curve.identified:
        return
    found = time_to_share(curve, share)
    if found.day is not None:
        assert found.low is None or found.low <= found.day
        assert found.high is None or found.day <= found.high


def test_shares_further_on_come_later_with_all_their_ends():
    curve = fit_curve(STILL_SLOWING)
    found = [time_to_share(curve, share) for share in (0.1, 0.2, 0.3, 0.4, 0.5)]
    for end in ("low", "day", "high"):
        days = [getattr(one, end) for one in found]
        assert days == sorted(days)


def test_a_curve_that_is_none_has_no_day():
    with pytest.raises(BadInput, match="Nothing has come up"):
        time_to_share(fit_curve(read_counts(20, [7, 14], [0, 0])), 0.5)
