"""Fitting a lot's own tests, and what is expected of a lot."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from crosses.calc.errors import BadInput
from seedbank.calc.viability.constants import published_constants
from seedbank.calc.viability.equation import sigma_days
from seedbank.calc.viability.fit import SeedTest, fit_start, fit_tests
from seedbank.calc.viability.outlook import Method, Storage, expected_today
from tests.calc.seed_viability import probit, viability_after

RICE = published_constants("Oryza sativa")[0]
FALLING = [SeedTest(0, 48, 50), SeedTest(700, 45, 50), SeedTest(1500, 38, 50)]
STORED_ON = date(2020, 1, 1)


def profile_interval(tests, age_days, confidence=0.95):
    """Profile-likelihood interval of the share at an age, by nested search with scipy.stats."""
    ages = np.array([test.age_days for test in tests], dtype=float)
    germinated = np.array([test.germinated for test in tests])
    sown = np.array([test.sown for test in tests])

    def best_log_likelihood(probit_there):
        def surprise(loss):
            probits = probit_there + loss * (age_days - ages) / 1000
            alive, dead = stats.norm.logcdf(probits), stats.norm.logsf(probits)
            return -(germinated * alive + (sown - germinated) * dead).sum()

        return -optimize.minimize_scalar(
            surprise, bounds=(0, 5), method="bounded", options={"xatol": 1e-10}
        ).fun

    top = optimize.minimize_scalar(
        lambda at: -best_log_likelihood(at), bounds=(-3, 3), method="bounded"
    )
    limit = -top.fun - stats.chi2.ppf(confidence, 1) / 2
    low = optimize.brentq(lambda at: best_log_likelihood(at) - limit, -6, top.x)
    high = optimize.brentq(lambda at: best_log_likelihood(at) - limit, top.x, 8)
    return stats.norm.cdf([low, top.x, high])


def test_a_published_probit_fit_is_reproduced():
    # Data: Bliss 1935, Annals of Applied Biology 22:134-167, as given in several open data sets.
    # Coefficients -34.94 and 19.73: Dobson, An Introduction to Generalized Linear Models (from memory).
    dose = [1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839]
    treated = [59, 60, 62, 56, 63, 59, 62, 60]
    killed = [6, 13, 18, 28, 52, 53, 61, 60]
    survivors = [
        SeedTest(amount, of - dead, of)
        for amount, of, dead in zip(dose, treated, killed, strict=True)
    ]
    fit = fit_tests(survivors)
    assert fit.initial_probit == pytest.approx(34.94, abs=5e-3)
    assert fit.probits_lost_per_day == pytest.approx(19.73, abs=5e-3)


def test_two_tests_are_met_exactly():
    fit = fit_tests([SeedTest(100, 95, 100), SeedTest(1100, 70, 100)])
    sigma = 1000 / (probit(0.95) - probit(0.70))
    assert 1 / fit.probits_lost_per_day == pytest.approx(sigma, rel=1e-5)
    assert fit.share_at(1100).value == pytest.approx(0.70, abs=1e-6)


@pytest.mark.parametrize("age_days", [0, 1500, 2500])
def test_intervals_are_profile_likelihood_intervals(age_days):
    share = fit_tests(FALLING).share_at(age_days)
    low, best, high = profile_interval(FALLING, age_days)
    assert [share.low, share.value, share.high] == pytest.approx([low, best, high], abs=5e-4)


def test_the_interval_widens_into_the_future():
    fit = fit_tests(FALLING)
    soon, late = fit.share_at(1600), fit.share_at(3000)
    assert late.high - late.low > soon.high - soon.low


def test_rising_tests_are_read_as_no_fall_and_give_a_soonest_day_only():
    fit = fit_tests([SeedTest(0, 40, 50), SeedTest(900, 45, 50)])
    assert fit.probits_lost_per_day == 0
    assert fit.share_at(5000).value == pytest.approx(85 / 100, abs=1e-6)
    half = fit.age_when(0.5)
    assert half.value == half.high == np.inf
    assert 900 < half.low < np.inf


def test_full_tests_before_a_loss_still_have_a_curve():
    fit = fit_tests([SeedTest(0, 50, 50), SeedTest(365, 50, 50), SeedTest(1000, 40, 50)])
    assert 0.9 < fit.share_at(0).value < 1
    assert fit.share_at(1000).low < 0.8 < fit.share_at(1000).high


def test_tests_that_scatter_more_than_chance_widen_the_interval():
    steady = [
        SeedTest(age, alive, 100) for age, alive in ((0, 92), (400, 88), (800, 84), (1200, 79))
    ]
    jumpy = [
        SeedTest(age, alive, 100) for age, alive in ((0, 99), (400, 70), (800, 98), (1200, 65))
    ]
    calm, wild = fit_tests(steady), fit_tests(jumpy)
    assert calm.scatter == 1
    assert wild.scatter > 5
    assert wild.share_at(600).high - wild.share_at(600).low > 0.3


def test_tests_of_one_age_cannot_show_ageing():
    with pytest.raises(BadInput, match="two ages or more"):
        fit_tests([SeedTest(10, 9, 10), SeedTest(10, 8, 10)])


@pytest.mark.parametrize(
    ("test", "field"),
    [
        (SeedTest(0, 11, 10), "germinated"),
        (SeedTest(0, 0, 0), "sown"),
        (SeedTest(-1, 5, 10), "age_days"),
    ],
)
def test_a_test_that_cannot_be_is_refused_at_its_field(test, field):
    with pytest.raises(BadInput) as refusal:
        fit_tests([test, SeedTest(100, 5, 10)])
    assert refusal.value.field == field


def test_one_test_moves_the_start_and_leaves_the_ageing_alone():
    fit = fit_start([SeedTest(300, 45, 50)], sigma=5382.388)
    assert 1 / fit.probits_lost_per_day == pytest.approx(5382.388)
    expected = viability_after(700, initial_probit=probit(0.9), sigma=5382.388)
    assert fit.share_at(1000).value == pytest.approx(expected, abs=1e-6)


@settings(deadline=None, max_examples=40)
@given(
    counts=st.lists(st.integers(0, 20), min_size=2, max_size=5),
    today=st.floats(0, 4000),
)
def test_whatever_the_tests_the_share_lies_in_its_interval_and_never_rises(counts, today):
    fit = fit_tests([SeedTest(300 * row, count, 20) for row, count in enumerate(counts)])
    share, later = fit.share_at(today), fit.share_at(today + 100)
    assert 0 <= share.low <= share.value <= share.high <= 1
    assert later.value <= share.value
    half = fit.age_when(0.5)
    assert half.low <= half.value <= half.high


def outlook(tests, *, taxon="Oryza sativa", constants=None, storage=None, days=2000):
    return expected_today(
        tests,
        taxon=taxon,
        constants=constants,
        storage=storage or Storage(),
        stored_on=STORED_ON,
        today=STORED_ON + timedelta(days=days),
    )


def test_own_tests_come_before_published_constants():
    found = outlook(FALLING, constants=RICE, storage=Storage(10, 5))
    assert found.method is Method.OWN_TESTS
    assert found.share.value == pytest.approx(0.6402, abs=1e-3)
    assert "3 tests of this lot (150 seeds)" in found.basis
    assert found.sow_by.earliest < found.sow_by.expected < found.sow_by.latest
    assert found.regenerate_by.expected < found.sow_by.expected


def test_one_test_with_published_constants_predicts_and_names_the_paper():
    found = outlook([SeedTest(100, 98, 100)], constants=RICE, storage=Storage(10, 5), days=465)
    assert found.method is Method.PUBLISHED_CONSTANTS
    # Published: rice at 10 % and 5 °C falls from 98 to 97.64797 % in 365 days.
    assert found.share.value * 100 == pytest.approx(97.64797, abs=1e-4)
    assert found.share.low < 0.97 < found.share.high
    assert "Ellis & Hong 2007" in found.basis
    assert "1 test of 100 seeds" in found.basis


def test_weak_constants_are_called_weak():
    foxglove = published_constants("Digitalis purpurea")[0]
    found = outlook([SeedTest(0, 95, 100)], constants=foxglove, storage=Storage(6, 5))
    assert "Weak" in found.basis


def test_a_taxon_without_constants_gets_no_date_only_its_last_test():
    found = outlook([SeedTest(30, 15, 20)], taxon="Primula vulgaris", storage=Storage(6, 5))
    assert found.method is Method.LAST_TEST
    assert found.sow_by is None
    assert found.regenerate_by is None
    assert found.share.value == 0.75
    assert found.basis.startswith("No published constants for Primula vulgaris")
    assert "not of today" in found.basis


def test_the_thumb_rule_gives_a_factor_against_a_room_where_it_holds():
    fridge = outlook([SeedTest(30, 15, 20)], taxon="Primula vulgaris", storage=Storage(6, 5))
    assert fridge.thumb_rule.times == 64
    freezer = outlook([SeedTest(30, 15, 20)], taxon="Primula vulgaris", storage=Storage(6, -18))
    assert freezer.thumb_rule is None


def test_constants_without_the_conditions_of_the_store_predict_nothing():
    found = outlook([SeedTest(30, 15, 20)], constants=RICE, storage=Storage(None, 5))
    assert found.method is Method.LAST_TEST
    assert "not both known" in found.basis


def test_an_untested_lot_is_to_be_tested_within_a_year():
    found = outlook([], taxon="Primula vulgaris")
    assert found.method is Method.NOTHING
    assert found.share is None
    assert found.next_test_on == STORED_ON + timedelta(days=365)


def test_the_next_test_comes_a_third_of_the_way_to_regeneration_after_the_last():
    # So many seeds that the interval of the prediction begins later than its third.
    tests = [SeedTest(0, 4800, 5000), SeedTest(300, 4720, 5000), SeedTest(600, 4600, 5000)]
    found = outlook(tests)
    interval = (found.regenerate_by.expected - STORED_ON).days / 3
    assert found.regenerate_by.earliest > found.next_test_on
    assert (found.next_test_on - STORED_ON).days == pytest.approx(600 + interval, abs=1)


def test_tests_without_a_fall_do_not_put_the_next_test_off_for_decades():
    found = outlook([SeedTest(0, 4000, 5000), SeedTest(900, 4500, 5000)])
    assert found.next_test_on == STORED_ON + timedelta(days=int(900 + 5 * 365.25))
    assert found.sow_by.expected is None
    assert "no fall yet" in found.basis


def test_the_next_test_comes_before_the_soonest_day_on_which_it_may_be_due():
    found = outlook([SeedTest(0, 80, 100), SeedTest(900, 85, 100)])
    soonest = found.regenerate_by.earliest
    assert STORED_ON + timedelta(days=900 + 365) < soonest < STORED_ON + timedelta(days=900 + 1826)
    assert found.next_test_on == soonest


def test_tests_that_scatter_ask_for_another_in_a_year_and_no_sooner():
    tests = [SeedTest(10 * n, came, 20) for n, came in enumerate((4, 16, 7, 18, 5, 17, 9, 15))]
    found = outlook(tests)
    assert "scatter more than chance" in found.basis
    assert found.regenerate_by.earliest < STORED_ON + timedelta(days=70 + 365)
    assert found.next_test_on == STORED_ON + timedelta(days=70 + 365)


def test_storage_outside_the_studied_range_is_warned_about():
    found = outlook([SeedTest(0, 95, 100)], constants=RICE, storage=Storage(3, -80))
    assert len(found.warnings) == 2


def test_a_test_of_tomorrow_is_refused():
    with pytest.raises(BadInput, match="later than today"):
        outlook([SeedTest(2001, 9, 10)])


def test_a_share_falls_by_one_probit_in_sigma_days():
    sigma = sigma_days(RICE, 10, 5)
    found = outlook([SeedTest(0, 84, 100)], constants=RICE, storage=Storage(10, 5), days=int(sigma))
    expected = stats.norm.cdf(stats.norm.ppf(0.84) - int(sigma) / sigma)
    assert found.share.value == pytest.approx(expected, abs=1e-6)
