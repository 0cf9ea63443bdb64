import math
import re
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines import LogLogisticFitter, LogNormalFitter, WeibullFitter
from scipy import stats

from crosses.calc.errors import BadInput
from seedbank.calc.germination.counts import read_counts
from seedbank.calc.germination.curve import fit_curve, share_come
from seedbank.calc.germination.likelihood import gather, log_likelihood
from seedbank.calc.germination.reaching import time_to_share

# The worked example of test_germination_indices.
FIFTY_SEEDS = read_counts(50, range(1, 15), [0, 0, 0, 0, 4, 17, 10, 7, 1, 0, 1, 0, 0, 0])
ALL_UP = read_counts(40, [3, 6, 9, 12, 15, 18], [2, 11, 14, 8, 4, 1])
FAMILIES = ["log_logistic", "log_normal", "weibull"]


def as_seeds(counts):
    """Ends of the interval of every single seed, as a survival library wants them."""
    lower = np.repeat(counts.days_before, counts.new)
    upper = np.repeat(counts.days, counts.new)
    left = counts.sown - counts.germinated
    return (
        np.concatenate([lower, np.full(left, counts.days[-1])]),
        np.concatenate([upper, np.full(left, np.inf)]),
    )


def lifelines_fit(fitter, counts):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return fitter.fit_interval_censoring(*as_seeds(counts))


@pytest.mark.parametrize(
    ("family", "fitter", "steepness"),
    [
        ("log_logistic", LogLogisticFitter, lambda fit: fit.beta_),
        ("log_normal", LogNormalFitter, lambda fit: 1 / fit.sigma_),
        ("weibull", WeibullFitter, lambda fit: fit.rho_),
    ],
)
def test_when_every_seed_came_the_curve_agrees_with_lifelines(family, fitter, steepness):
    theirs = lifelines_fit(fitter(), ALL_UP)
    curve = fit_curve(ALL_UP, family)
    assert curve.identified
    assert curve.germinable_share.value == 1
    assert curve.median_days.value == pytest.approx(theirs.median_survival_time_, rel=1e-3)
    assert curve.steepness.value == pytest.approx(steepness(theirs), rel=2e-3)
    assert curve.log_likelihood == pytest.approx(theirs.log_likelihood_, abs=1e-3)


@pytest.mark.parametrize(
    ("family", "fitter"), [("log_normal", LogNormalFitter), ("weibull", WeibullFitter)]
)
def test_once_levelled_off_those_that_came_agree_with_lifelines(family, fitter):
    # Where the curve has run out before the last look, the share and the course of those that
    # came are two separate questions, and lifelines can answer the second.
    only_those_that_came = read_counts(40, FIFTY_SEEDS.days, FIFTY_SEEDS.new)
    theirs = lifelines_fit(fitter(), only_those_that_came)
    curve = fit_curve(FIFTY_SEEDS, family)
    assert curve.germinable_share.value == pytest.approx(0.8, abs=1e-4)
    assert curve.median_days.value == pytest.approx(theirs.median_survival_time_, rel=1e-3)
    for day in (5, 6, 8, 12):
        waiting = 1 - float(share_come(curve, day)) / 0.8
        assert waiting == pytest.approx(float(theirs.predict(day)), abs=1e-3)


@pytest.mark.parametrize("family", FAMILIES)
def test_no_curve_near_by_is_likelier(family):
    still_slowing = read_counts(60, [7, 14, 21, 28, 35], [2, 12, 14, 7, 3])
    seen = gather([still_slowing])
    curve = fit_curve(still_slowing, family)
    peak = np.array(
        [
            math.log(curve.median_days.value),
            math.log(curve.steepness.value),
            curve.germinable_share.value,
        ]
    )
    assert curve.log_likelihood == pytest.approx(log_likelihood(peak, seen, family)[0])
    for step in np.vstack([np.eye(3), -np.eye(3)]) * 1e-3:
        assert log_likelihood(peak + step, seen, family)[0] < curve.log_likelihood


def test_standard_errors_agree_with_lifelines():
    theirs = lifelines_fit(WeibullFitter(), ALL_UP)
    curve = fit_curve(ALL_UP, "weibull")
    assert curve.steepness.standard_error == pytest.approx(
        theirs.summary.loc["rho_", "se(coef)"], rel=5e-3
    )


@pytest.mark.parametrize("family", FAMILIES)
def test_the_slope_is_the_slope_of_the_likelihood(family):
    seen = gather([FIFTY_SEEDS, ALL_UP])
    at = np.array([math.log(7.0), math.log(4.0), 0.85])
    _, slopes = log_likelihood(at, seen, family)
    for parameter in range(3):
        step = np.zeros(3)
        step[parameter] = 1e-6
        rise = (
            log_likelihood(at + step, seen, family)[0] - log_likelihood(at - step, seen, family)[0]
        )
        assert slopes.sum(axis=0)[parameter] == pytest.approx(rise / 2e-6, rel=1e-6)


@pytest.mark.parametrize(
    ("family", "law"),
    [
        ("log_logistic", stats.fisk(c=4.0, scale=7.0)),
        ("log_normal", stats.lognorm(s=1 / 4.0, scale=7.0)),
        ("weibull", stats.weibull_min(c=4.0, scale=7.0 / math.log(2) ** (1 / 4.0))),
    ],
)
def test_the_likelihood_is_that_of_the_named_law(family, law):
    counts = read_counts(20, [5, 7, 12], [2, 6, 5])
    value, _ = log_likelihood(
        np.array([math.log(7.0), math.log(4.0), 0.8]), gather([counts]), family
    )
    come = 0.8 * law.cdf([0, 5, 7, 12])
    expected = np.array([2, 6, 5]) @ np.log(np.diff(come)) + 7 * math.log(1 - come[-1])
    assert value == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize("family", FAMILIES)
def test_the_curve_passes_through_its_own_numbers(family):
    curve = fit_curve(FIFTY_SEEDS, family)
    share, median_days = curve.germinable_share.value, curve.median_days.value
    assert float(share_come(curve, median_days)) == pytest.approx(share / 2)
    assert float(share_come(curve, 0)) == pytest.approx(0, abs=1e-12)
    for part in (0.1, 0.5, 0.9):
        day = time_to_share(curve, part * share).day
        assert float(share_come(curve, day)) == pytest.approx(part * share)


def test_half_of_those_that_come_is_not_half_of_the_seeds():
    curve = fit_curve(read_counts(100, range(2, 20, 2), [0, 4, 12, 9, 3, 1, 0, 0, 0]))
    assert curve.median_days.value < 8
    assert time_to_share(curve, 0.5).day is None
    assert time_to_share(curve, 0.99).low is None


@given(st.sampled_from(FAMILIES), st.integers(2, 9))
@settings(max_examples=12, deadline=None)
def test_more_sowings_alike_narrow_the_intervals_and_move_nothing(family, times):
    few, many = fit_curve(FIFTY_SEEDS, family), fit_curve([FIFTY_SEEDS] * times, family)
    assert many.median_days.value == pytest.approx(few.median_days.value, rel=1e-4)
    assert many.germinable_share.value == pytest.approx(few.germinable_share.value, abs=1e-4)
    wide = few.germinable_share.high - few.germinable_share.low
    assert many.germinable_share.high - many.germinable_share.low < wide
    assert many.median_days.standard_error == pytest.approx(
        few.median_days.standard_error / math.sqrt(times), rel=1e-3
    )


def test_intervals_hold_the_estimate_and_stay_within_bounds():
    for family in FAMILIES:
        for counts in (FIFTY_SEEDS, ALL_UP):
            curve = fit_curve(counts, family)
            for number in (curve.germinable_share, curve.median_days, curve.steepness):
                assert 0 < number.low <= number.value <= number.high
            assert curve.germinable_share.high <= 1


def test_the_interval_of_the_share_is_near_the_binomial_one_once_the_counts_have_levelled_off():
    # Long after the last seedling the curve adds nothing to the plain likelihood of 40 of 50,
    # whose 95 % likelihood interval solves 2 (l(0.8) - l(p)) = 3.841.
    counts = read_counts(50, [5, 6, 7, 8, 9, 60, 90], [4, 17, 10, 7, 2, 0, 0])
    curve = fit_curve(counts, "log_normal")

    def fall(share):
        return 2 * (stats.binom.logpmf(40, 50, 0.8) - stats.binom.logpmf(40, 50, share))

    assert fall(curve.germinable_share.low) == pytest.approx(3.841, abs=0.01)
    assert fall(curve.germinable_share.high) == pytest.approx(3.841, abs=0.01)


def test_sowings_that_differ_widen_the_interval_of_the_share():
    days = [5, 7, 9, 12, 20, 40]
    alike = [read_counts(20, days, [2, 5, 4, 1, 0, 0])] * 6
    unlike = [read_counts(20, days, new) for new in ([4, 9, 5, 2, 0, 0], [0, 2, 1, 1, 0, 0]) * 3]
    even, uneven = fit_curve(alike), fit_curve(unlike)
    assert even.basis == uneven.basis == "widened to the scatter between sowings"
    assert uneven.germinable_share.value == pytest.approx(even.germinable_share.value, abs=0.01)
    assert uneven.germinable_share.low < even.germinable_share.low - 0.05


def test_a_sowing_given_up_early_counts_as_waiting_not_as_failed():
    full = read_counts(50, [5, 6, 7, 8, 30], [5, 15, 14, 10, 2])
    given_up = read_counts(50, [5, 6], [5, 15])
    curve = fit_curve([full, given_up], "log_normal")
    assert curve.germinable_share.low > 0.7


@pytest.mark.parametrize(
    ("counts", "says"),
    [
        (read_counts(20, [7, 14], [0, 0]), "Nothing has come up"),
        (read_counts(20, [7, 14], [0, 9]), "found at one look"),
        (read_counts(20, [7, 14, 21], [3, 9, 0]), "two looks only"),
    ],
)
def test_what_no_curve_can_be_drawn_from_is_said_so(counts, says):
    curve = fit_curve(counts)
    assert not curve.identified
    assert says in curve.why_not
    assert curve.sentence == curve.why_not
    assert curve.germinable_share.value == counts.germinated / counts.sown
    assert curve.median_days is None
    with pytest.raises(BadInput, match=says):
        time_to_share(curve, 0.1)
    with pytest.raises(BadInput, match=says):
        share_come(curve, [1.0])


def test_counts_still_climbing_promise_no_final_share():
    curve = fit_curve(read_counts(100, [7, 14, 21, 28], [1, 4, 11, 24]))
    assert not curve.identified
    assert "levelled off" in curve.why_not
    assert "not identified" in curve.why_not
    assert curve.germinable_share is None


def test_what_has_come_for_certain_is_said_where_the_final_share_cannot_be():
    # By hand: 40 of 100 have come, so a final share under about 30 % is out of the question.
    curve = fit_curve(read_counts(100, [7, 14, 21, 28], [1, 4, 11, 24]))
    (least,) = re.findall(r"at least (\d+) % come", curve.why_not)
    assert 30 < int(least) < 100


def test_looks_too_far_apart_for_the_steepness_are_said_so():
    several = [
        read_counts(20, [7, 14, 60], [9, 8, 0]),
        read_counts(20, [9, 60], [17, 0]),
    ]
    curve = fit_curve(several)
    assert not curve.identified
    assert "how closely together" in curve.why_not


def test_the_sentence_names_its_seeds_and_what_the_interval_rests_on():
    assert fit_curve(FIFTY_SEEDS).sentence == (
        "80 % (68-89 %) come in the end, half of those by day 6.1 (5.7-6.4); log-logistic curve "
        "from 40 of 50 seeds in 1 sowing, each seed taken for itself."
    )


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        (([],), "counts"),
        ((FIFTY_SEEDS, "gompertz"), "family"),
        ((FIFTY_SEEDS, "weibull", 1.0), "confidence"),
    ],
)
def test_an_impossible_wish_is_refused(arguments, field):
    with pytest.raises(BadInput) as refusal:
        fit_curve(*arguments)
    assert refusal.value.field == field


def test_a_share_of_none_or_more_than_all_is_refused():
    for share in (0, 1, 1.2):
        with pytest.raises(BadInput, match="fraction"):
            time_to_share(fit_curve(FIFTY_SEEDS), share)
