"""When a capsule splits: the book alone, with records, and against other reckonings."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings, strategies
from lifelines import LogNormalFitter
from scipy import stats

from crosses.calc.errors import BadInput
from crosses.calc.windows import (
    Opening,
    Window,
    chance_before,
    disagreement,
    forecast,
    look_again_on,
    narrowed,
    posterior,
)
from tests.calc.seasons import coverage, coverage_below_other_levels

BOOK = Window(14, 28)
# Worked by hand in 1 - S(b)/S(a) on a plain grid; no published source.
THREE = [Opening(17, 18), Opening(19, 20), Opening(15, 16)]


def split_days(known, age=0.0):
    ahead = forecast(known, age)
    return ahead.split_by_10_days, ahead.split_by_50_days, ahead.split_by_90_days


def on_a_plain_grid(records, days):
    """Chance to be closed at each age: the definition, on 241 x 241 points, in plain chances."""
    spread = math.log(28 / 14) / (2 * stats.norm.ppf(0.9))
    centre, log_spread = np.meshgrid(
        np.linspace(math.log(6), math.log(70), 241), np.linspace(-4.5, 0.5, 241), indexing="ij"
    )
    weight = stats.norm.pdf(centre, math.log(14 * 28) / 2, spread / math.sqrt(2))
    weight *= stats.norm.pdf(log_spread, math.log(spread / math.sqrt(2)), 0.35)
    for low, high in records:
        below = (
            1.0 if high is None else stats.norm.cdf((math.log(high) - centre) / np.exp(log_spread))
        )
        weight *= below - stats.norm.cdf((math.log(low) - centre) / np.exp(log_spread))
    weight /= weight.sum()
    return [
        (weight * stats.norm.sf((math.log(day) - centre) / np.exp(log_spread))).sum()
        for day in days
    ]


def test_without_records_the_book_speaks():
    assert split_days(posterior(BOOK, [])) == pytest.approx((13.8, 19.8, 28.4), abs=0.05)
    assert posterior(BOOK, []).basis == "From the book's window of 14-28 days alone, no records."


@pytest.mark.parametrize(
    "records",
    [[], [(17, 18), (19, 20), (15, 16)], [(17, 18), (25, None), (3, None)], [(10, None)] * 5],
)
def test_chances_are_those_of_a_plain_grid(records):
    known = posterior(BOOK, [Opening(*each) for each in records])
    now, *later = on_a_plain_grid(records, [10, 12, 17, 21, 30])
    for ahead, then in zip((2, 7, 11, 20), later, strict=True):
        assert chance_before(known, 10, ahead) == pytest.approx(1 - then / now, rel=1e-5)


def test_three_records_and_ten_closed_days_sharpen_the_book():
    known = posterior(BOOK, THREE)
    assert split_days(known, 10) == pytest.approx((14.1, 17.9, 23.1), abs=0.05)
    assert chance_before(known, 10, 1) == pytest.approx(0.0070, abs=0.0001)


def test_with_many_records_the_book_is_silent():
    """A general survival library, fitted to the same intervals, finds the same law."""
    days = np.exp(np.random.default_rng(3).normal(math.log(40), 0.1, 300))
    lower, upper = np.floor(days), np.floor(days) + 1
    fitted = LogNormalFitter().fit_interval_censoring(lower, upper)
    known = posterior(BOOK, [Opening(*each) for each in zip(lower, upper, strict=True)])
    assert known.belief.centre == pytest.approx(fitted.mu_, abs=0.002)
    assert math.exp(known.belief.log_spread) == pytest.approx(fitted.sigma_, rel=0.03)


def test_a_capsule_still_closed_moves_the_forecast_later():
    assert split_days(posterior(BOOK, [*THREE, Opening(26, None)])) > split_days(
        posterior(BOOK, THREE)
    )


def test_a_flower_that_failed_early_hardly_moves_the_forecast():
    with_failed = split_days(posterior(BOOK, [*THREE, Opening(5, None)]))
    assert with_failed == pytest.approx(split_days(posterior(BOOK, THREE)), abs=0.02)


def test_one_never_looked_at_is_no_record():
    known = posterior(BOOK, [Opening(0, None)])
    assert known.sources == ()
    assert split_days(known) == split_days(posterior(BOOK, []))


records_of_days = strategies.lists(
    strategies.tuples(
        strategies.integers(5, 60), strategies.integers(1, 9) | strategies.none()
    ).map(lambda each: Opening(each[0], each[1] and each[0] + each[1])),
    max_size=8,
)


@settings(max_examples=60, deadline=None)
@given(records_of_days, strategies.integers(0, 50))
def test_chances_rise_with_the_days_and_match_the_quantiles(records, age):
    known = posterior(BOOK, records)
    ahead = forecast(known, age)
    assert all(a[1] <= b[1] for a, b in itertools.pairwise(ahead.chances))
    assert age < ahead.split_by_10_days < ahead.split_by_50_days < ahead.split_by_90_days
    for chance, day in ((0.1, ahead.split_by_10_days), (0.9, ahead.split_by_90_days)):
        assert chance_before(known, age, day - age) == pytest.approx(chance, abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(records_of_days)
def test_the_order_of_records_makes_no_difference(records):
    assert split_days(posterior(BOOK, records)) == pytest.approx(
        split_days(posterior(BOOK, records[::-1]))
    )


@settings(max_examples=40, deadline=None)
@given(records_of_days, strategies.sampled_from([0.5, 2, 7]))
def test_days_told_in_another_unit_give_the_same_forecast_in_that_unit(records, factor):
    told = [
        Opening(
            each.closed_until_days * factor, each.opened_by_days and each.opened_by_days * factor
        )
        for each in records
    ]
    expected = [factor * days for days in split_days(posterior(BOOK, records))]
    assert split_days(posterior(Window(14 * factor, 28 * factor), told)) == pytest.approx(
        expected, rel=1e-6
    )


def test_an_older_capsule_is_more_urgent():
    known = posterior(BOOK, THREE)
    chances = [chance_before(known, age, 1) for age in (10, 14, 18)]
    assert chances == sorted(chances)


def test_a_capsule_far_past_its_time_still_has_a_forecast():
    ahead = forecast(posterior(BOOK, THREE * 60), 300)
    assert 300 < ahead.split_by_50_days < math.inf
    assert ahead.look_again_days == ahead.look_daily_from_days == 301


def test_a_capsule_absurdly_far_past_its_time_keeps_its_digits():
    known = posterior(BOOK, [Opening(18, 19), Opening(19, 20), Opening(20, 21)] * 100)
    ahead = forecast(known, 2000)
    assert 2000 < ahead.split_by_10_days < ahead.split_by_90_days < math.inf
    assert chance_before(known, 2000, ahead.split_by_50_days - 2000) == pytest.approx(0.5, abs=1e-6)


def test_the_next_look_keeps_the_risk_and_daily_looks_begin_at_one_in_ten():
    known = posterior(BOOK, THREE)
    again = look_again_on(known, 10)
    assert chance_before(known, 10, again - 10) <= 0.05 < chance_before(known, 10, again - 9)
    daily = forecast(known, 10).look_daily_from_days
    assert chance_before(known, 10, daily - 11) <= 0.1 < chance_before(known, 10, daily - 10)
    assert look_again_on(known, 10, 0.5) > again


def test_a_lower_level_starts_from_the_level_above_and_widens_it():
    of_genus = [Opening(20 + n % 3, 21 + n % 3) for n in range(220)]
    genus = posterior(BOOK, of_genus, "of the genus")
    plant = narrowed(genus, [Opening(17, 18)] * 14, "of this seed parent")
    assert split_days(genus)[1] > split_days(plant)[1] > 17
    late = narrowed(genus, [Opening(25, 26)], "of this seed parent")
    assert split_days(late)[1] > split_days(posterior(BOOK, [*of_genus, Opening(25, 26)]))[1] + 0.3
    assert plant.basis == (
        "From 14 records of this seed parent (14 seen splitting), 220 records of the genus "
        "(220 seen splitting) and the book's window of 14-28 days."
    )


def test_a_level_without_records_changes_nothing():
    genus = posterior(BOOK, THREE, "of the genus")
    assert narrowed(genus, [], "of this seed parent") is genus
    book = posterior(BOOK, [])
    direct = posterior(BOOK, THREE, "of this seed parent")
    assert split_days(narrowed(book, THREE, "of this seed parent")) == pytest.approx(
        split_days(direct), rel=1e-6
    )


def test_records_far_from_the_book_are_told_with_a_window_to_offer():
    found = disagreement(
        BOOK, [Opening(60, 61), Opening(66, 67), Opening(58, 60), Opening(70, None)]
    )
    assert found.book_days == pytest.approx((11.7, 33.6), abs=0.1)
    assert found.suggested.low_days < 58
    assert found.suggested.high_days > 66
    assert "the book's window of 14-28 days" in found.sentence


def test_records_within_the_book_or_too_few_are_no_disagreement():
    assert disagreement(BOOK, THREE) is None
    assert disagreement(BOOK, [Opening(60, 61), Opening(66, 67)]) is None


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Window(0, 10), "low_days"),
        (lambda: Window(20, 20), "low_days"),
        (lambda: Opening(-1, 3), "closed_until_days"),
        (lambda: Opening(8, 8), "opened_by_days"),
        (lambda: forecast(posterior(BOOK, []), -1), "age_days"),
        (lambda: chance_before(posterior(BOOK, []), 3, -1), "days_ahead"),
        (lambda: look_again_on(posterior(BOOK, []), 3, 1), "risk"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(make, field):
    with pytest.raises(BadInput) as refused:
        make()
    assert refused.value.field == field


# Shares of 200 seasons have a standard error of 0.028; three of them on either side of 0.80-0.88.
@pytest.mark.parametrize("law", ["Weibull", "gamma"])
@pytest.mark.parametrize("records", [0, 3, 30, 300])
def test_eight_of_ten_capsules_split_inside_the_interval(law, records):
    assert 0.72 <= coverage(law, records, seasons=200) <= 0.93


@pytest.mark.parametrize("records", [0, 3, 30])
def test_eight_of_ten_split_inside_the_interval_below_other_levels(records):
    assert 0.72 <= coverage_below_other_levels((0.1, 0.1, 0.1), records, seasons=100) <= 0.95
