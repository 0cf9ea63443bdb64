import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines.statistics import logrank_test
from scipy import stats

from crosses.calc.errors import BadInput
from crosses.calc.rates import wilson
from seedbank.calc.germination.compare import (
    beta_binomial_test,
    compare_treatments,
    difference_of_shares,
    fisher_exact,
    log_rank,
)
from seedbank.calc.germination.counts import read_counts


@st.composite
def sides(draw):
    days = np.cumsum(draw(st.lists(st.integers(1, 9), min_size=1, max_size=6))).tolist()

    def sowing():
        new = draw(st.lists(st.integers(0, 9), min_size=len(days), max_size=len(days)))
        return read_counts(max(1, sum(new) + draw(st.integers(0, 9))), days, new)

    return sowing(), sowing()


def as_durations(counts):
    left = counts.sown - counts.germinated
    days = np.concatenate([np.repeat(counts.days, counts.new), np.full(left, counts.days[-1])])
    return days, np.arange(len(days)) < counts.germinated


def test_two_pots_give_fishers_published_answer():
    # Fisher's tea-tasting table, 3 of 4 against 1 of 4: one-sided 17/70, and two-sided, by the
    # tables no likelier than the one seen, 34/70.
    assert fisher_exact((3, 4), (1, 4)) == pytest.approx(34 / 70)


@given(st.integers(0, 12), st.integers(0, 12), st.integers(0, 12), st.integers(0, 12))
@settings(deadline=None)
def test_fisher_sums_the_tables_no_likelier_than_the_one_seen(a, b, c, d):
    came, first_sown, second_sown = a + c, a + b, c + d
    law = stats.hypergeom(first_sown + second_sown, came, first_sown)
    chances = law.pmf(np.arange(came + 1))
    expected = chances[chances <= law.pmf(a) * (1 + 1e-7)].sum()
    if first_sown and second_sown:
        assert fisher_exact((a, first_sown), (c, second_sown)) == pytest.approx(expected)


def test_the_difference_agrees_with_newcombes_example():
    # Newcombe (1998), Statistics in Medicine 17, 873-890, table II, 56/70 less 48/80, method 10:
    # 0.0524 to 0.3339. Values from memory.
    difference = difference_of_shares(wilson(48, 80), wilson(56, 70))
    assert difference.estimate == pytest.approx(0.2)
    assert (difference.low, difference.high) == pytest.approx((0.0524, 0.3339), abs=5e-5)


@given(st.integers(0, 30), st.integers(0, 30), st.integers(1, 30), st.integers(1, 30))
@settings(deadline=None)
def test_the_difference_swaps_its_sign_with_the_sides(x, y, more_x, more_y):
    one, two = wilson(x, x + more_x), wilson(y, y + more_y)
    forth, back = difference_of_shares(one, two), difference_of_shares(two, one)
    assert forth.low <= forth.estimate <= forth.high
    assert forth.low == pytest.approx(-back.high)
    assert forth.low >= -1
    assert forth.high <= 1


def test_fewer_is_said_with_its_range_the_right_way_round():
    assert difference_of_shares(wilson(78, 120), wilson(29, 140)).sentence == (
        "44 points fewer (33 to 54)"
    )


def test_a_difference_needs_something_tried_and_one_confidence():
    with pytest.raises(BadInput, match="Nothing was tried"):
        difference_of_shares(wilson(1, 2), wilson(0, 0))
    with pytest.raises(BadInput, match="different confidence"):
        difference_of_shares(wilson(1, 2), wilson(1, 2, 0.8))


@given(sides())
@settings(deadline=None, max_examples=50)
def test_log_rank_agrees_with_lifelines(two):
    first, second = two
    ours = log_rank(first, second)
    if ours.chi_square is None:
        return
    (days_one, came_one), (days_two, came_two) = as_durations(first), as_durations(second)
    theirs = logrank_test(days_one, days_two, came_one, came_two)
    assert ours.chi_square == pytest.approx(theirs.test_statistic, abs=1e-8)
    assert ours.p_value == pytest.approx(theirs.p_value, abs=1e-8)


@given(sides())
@settings(deadline=None)
def test_swapping_the_sides_leaves_the_log_rank_test_alone(two):
    first, second = two
    forth, back = log_rank(first, second), log_rank(second, first)
    if forth.chi_square is not None:
        assert forth.chi_square == pytest.approx(back.chi_square, abs=1e-9)


def test_pots_of_one_side_are_added_up():
    half = read_counts(20, [7, 14], [5, 4])
    whole = read_counts(40, [7, 14], [10, 8])
    other = read_counts(40, [7, 14], [3, 9])
    assert log_rank([half, half], other).chi_square == pytest.approx(
        log_rank(whole, other).chi_square
    )


def test_a_sowing_given_up_early_leaves_the_risk_after_its_last_look():
    early = read_counts(20, [7], [5])
    full = read_counts(20, [7, 14], [5, 8])
    ours = log_rank([early, full], read_counts(20, [7, 14], [2, 6]))
    days, came = as_durations(early)
    days_full, came_full = as_durations(full)
    days_other, came_other = as_durations(read_counts(20, [7, 14], [2, 6]))
    theirs = logrank_test(
        np.concatenate([days, days_full]),
        days_other,
        np.concatenate([came, came_full]),
        came_other,
    )
    assert ours.chi_square == pytest.approx(theirs.test_statistic)


def test_courses_looked_at_on_other_days_are_not_compared():
    with pytest.raises(BadInput, match="same days"):
        log_rank(read_counts(20, [7, 14], [5, 5]), read_counts(20, [6, 14], [5, 5]))


def test_looks_after_the_last_seed_came_say_nothing():
    sooner, later = [7, 14], [7, 14, 21, 28]
    assert log_rank(
        read_counts(5, later, [3, 2, 0, 0]), read_counts(5, later, [1, 4, 0, 0])
    ) == log_rank(read_counts(5, sooner, [3, 2]), read_counts(5, sooner, [1, 4]))


def test_nothing_up_on_either_side_is_no_comparison():
    nothing = read_counts(20, [7], [0])
    assert log_rank(nothing, nothing).p_value is None
    with pytest.raises(BadInput) as refusal:
        log_rank(nothing, [])
    assert refusal.value.field == "second"


@given(st.integers(1, 19), st.integers(1, 19))
@settings(deadline=None, max_examples=30)
def test_single_pots_make_the_beta_binomial_test_the_binomial_one_at_most(x, y):
    # With scatter allowed for, a difference can only become easier to explain by chance.
    table = np.array([[x, 20 - x], [y, 20 - y]])
    binomial = stats.chi2_contingency(table, correction=False, lambda_="log-likelihood").pvalue
    assert beta_binomial_test([(x, 20)], [(y, 20)]) >= binomial - 1e-6


def test_sowings_that_scatter_make_the_same_difference_less_telling():
    alike = beta_binomial_test([(6, 20)] * 4, [(12, 20)] * 4)
    unlike = beta_binomial_test(
        [(1, 20), (11, 20), (2, 20), (10, 20)], [(19, 20), (5, 20), (18, 20), (6, 20)]
    )
    assert alike < 0.001
    assert unlike > 0.05


def test_fewer_than_three_sowings_a_side_make_no_claim():
    few = compare_treatments([(78, 120)], [(29, 140)])
    assert (few.may_claim, few.p_value) == (False, None)
    assert few.sentence == (
        "1 sowing of 120 seeds against 1 sowing of 140 seeds: 44 points fewer (33 to 54); from "
        "fewer than three sowings a side no claim is made, since pot and treatment cannot be "
        "told apart."
    )
    assert not compare_treatments([(5, 20)] * 2, [(9, 20)] * 5).may_claim


def test_three_sowings_a_side_are_compared_with_their_scatter():
    enough = compare_treatments([(5, 20), (6, 20), (4, 20)], [(15, 20), (16, 20), (14, 20)])
    assert enough.may_claim
    assert enough.p_value < 0.001
    assert enough.difference.low > 0.2
    assert "p under 0.001, allowing for the scatter between sowings" in enough.sentence
    assert "3 sowings of 60 seeds against 3 sowings of 60 seeds" in enough.sentence
