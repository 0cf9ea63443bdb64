import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter

from crosses.calc.errors import BadInput
from seedbank.calc.germination.counts import read_counts
from seedbank.calc.germination.course import Interval, intervals, pot_steps, steps, turnbull
from tests.calc.interval_data import RADIOTHERAPY, interval_data


@st.composite
def sowings(draw):
    days = np.cumsum(draw(st.lists(st.integers(1, 9), min_size=1, max_size=5)))
    new = draw(st.lists(st.integers(0, 12), min_size=len(days), max_size=len(days)))
    return read_counts(max(1, sum(new) + draw(st.integers(0, 12))), days.tolist(), new)


def log_likelihood(pooled, observed):
    total = 0.0
    for interval in observed:
        by = np.inf if interval.by_day is None else interval.by_day
        held = sum(
            share
            for a, b, share in zip(pooled.after_days, pooled.by_days, pooled.shares, strict=True)
            if interval.after_day <= a and b <= by
        )
        total += interval.seeds * np.log(held)
    return total


def test_the_steps_are_the_running_share_of_all_seeds_sown():
    course = steps(read_counts(20, [7, 14, 21], [5, 0, 5]))
    assert [share.estimate for share in course.shares] == [0.25, 0.25, 0.5]
    assert all(share.n == 20 for share in course.shares)
    assert course.sentence == "10 of 20 = 50 % (30-70 %) by day 21"


@given(sowings())
@settings(deadline=None, max_examples=50)
def test_one_schedule_pools_to_its_own_running_share(counts):
    pooled = turnbull(intervals(counts))
    for day, total in zip(counts.days, counts.totals, strict=True):
        assert pooled.share_by(day)[0] == pytest.approx(total / counts.sown, abs=1e-4)


def test_within_an_interval_only_bounds_are_known():
    pooled = turnbull(intervals(read_counts(10, [7, 14], [6, 0])))
    assert pooled.share_by(3) == pytest.approx((0, 0.6))
    assert pooled.share_by(7) == pytest.approx((0.6, 0.6))


def test_touching_intervals_do_not_meet_on_the_shared_day():
    # (0, 7] and (7, 14]: were they closed at both ends, all could have come on day 7.
    pooled = turnbull([Interval(0, 7, 1), Interval(7, 14, 1)])
    assert pooled.shares == pytest.approx((0.5, 0.5))
    assert pooled.share_by(7) == pytest.approx((0.5, 0.5))


def test_a_second_pot_narrows_the_first_pots_intervals():
    # By hand: (0, 10] of one pot and (7, 14] of another can both be met within (7, 10].
    pooled = turnbull([Interval(0, 10, 5), Interval(7, 14, 5)])
    assert (pooled.after_days, pooled.by_days, pooled.shares) == ((7,), (10,), (1,))


def test_a_seed_left_is_not_counted_as_a_failure():
    # By hand: of 20 seeds, one pot of 10 was given up on day 7 with 5 up. Of the other pot's 10,
    # 5 came by day 7 and 5 by day 14, so every seed still waiting on day 7 that was watched came.
    pooled = turnbull(
        [Interval(0, 7, 5), Interval(7, None, 5), Interval(0, 7, 5), Interval(7, 14, 5)]
    )
    assert pooled.share_by(14)[0] == pytest.approx(1)


@given(st.lists(sowings(), min_size=2, max_size=4))
@settings(max_examples=25, deadline=None)
def test_no_other_estimate_is_likelier_than_ours(several):
    observed = [interval for counts in several for interval in intervals(counts)]
    pooled = turnbull(observed)
    assert sum(pooled.shares) == pytest.approx(1)
    ours = log_likelihood(pooled, observed)
    # The condition that marks the maximum: moving weight to any one interval gains nothing.
    for at in range(len(pooled.shares)):
        moved = np.array(pooled.shares) * (1 - 1e-6)
        moved[at] += 1e-6
        nudged = type(pooled)(pooled.after_days, pooled.by_days, tuple(moved), pooled.seeds)
        assert log_likelihood(nudged, observed) <= ours + 1e-6


def test_pooled_steps_agree_with_lifelines_where_no_intervals_touch():
    observed = [
        Interval(0, 6, 4),
        Interval(2, 9, 3),
        Interval(5, 12, 6),
        Interval(8, 15, 2),
        Interval(11, None, 5),
    ]
    pooled = turnbull(observed)
    lower = np.repeat([i.after_day for i in observed], [i.seeds for i in observed])
    upper = np.repeat(
        [np.inf if i.by_day is None else i.by_day for i in observed], [i.seeds for i in observed]
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = KaplanMeierFitter().fit_interval_censoring(lower, upper)
    survival = theirs.survival_function_["NPMLE_estimate_lower"]
    for day in (1, 4, 7, 10, 13, 20):
        at = survival.index.searchsorted(day, side="right") - 1
        assert pooled.share_by(day)[0] == pytest.approx(1 - survival.iloc[at], abs=1e-4)


def test_the_published_estimate_of_the_standard_example_is_met():
    # Finkelstein (1986), Biometrics 42, 845-854, women with radiotherapy alone; the estimate as
    # printed by Fay and Shaw (2010), Journal of Statistical Software 36(2). Both from memory, the
    # estimate to its four digits.
    pooled = turnbull(interval_data(RADIOTHERAPY))
    found = {
        (after, by): round(share, 4)
        for after, by, share in zip(pooled.after_days, pooled.by_days, pooled.shares, strict=True)
        if share > 1e-4
    }
    assert found == {
        (4, 5): 0.0463,
        (6, 7): 0.0334,
        (7, 8): 0.0887,
        (11, 12): 0.0708,
        (24, 25): 0.0926,
        (33, 34): 0.0818,
        (38, 40): 0.1209,
        (46, 48): 0.4656,
    }


def test_pots_looked_at_together_step_as_their_counts_added_up():
    pots = [read_counts(10, [7, 14], [3, 2]), read_counts(20, [7, 14], [5, 5])]
    together = steps(read_counts(30, [7, 14], [8, 7]))
    for step, share in zip(pot_steps(pots), together.shares, strict=True):
        assert step.known == 30
        assert (step.share, step.low, step.high) == pytest.approx(
            (share.estimate, share.low, share.high), abs=1e-5
        )


def test_a_pot_not_looked_at_is_not_taken_for_one_in_which_nothing_came():
    # By hand: all ten of the first pot were up on day 7, and all ten of the other on day 10.
    first, last = pot_steps([read_counts(10, [7], [10]), read_counts(10, [10], [10])])
    assert (first.day, first.share) == (7, pytest.approx(1))
    assert (last.day, last.share) == (10, pytest.approx(1))
    assert steps(read_counts(20, [7, 10], [10, 10])).shares[0].estimate == 0.5


def test_pots_in_which_nothing_came_have_one_step_at_the_last_look():
    (only,) = pot_steps([read_counts(10, [7], [0]), read_counts(10, [9], [0])])
    assert (only.day, only.share, only.low, only.known) == (9, 0, 0, 10)


@given(st.lists(sowings(), min_size=1, max_size=4))
@settings(max_examples=25, deadline=None)
def test_the_steps_of_pots_rise_and_hold_their_share(several):
    shares = [step.share for step in pot_steps(several)]
    assert shares == sorted(shares)
    for step in pot_steps(several):
        assert 0 <= step.low <= step.share + 1e-9
        assert step.share <= step.high + 1e-9 <= 1 + 2e-9


def test_sowings_that_do_not_settle_get_no_estimate(monkeypatch):
    monkeypatch.setattr("seedbank.calc.germination.course.MOST_ROUNDS", 0)
    with pytest.raises(BadInput, match="could not be pooled"):
        turnbull([Interval(0, 7, 6), Interval(7, None, 4)])


@pytest.mark.parametrize(
    ("observed", "field"),
    [
        ([], "seeds"),
        ([Interval(0, 7, 0)], "seeds"),
        ([Interval(0, 7, -1)], "seeds"),
        ([Interval(7, 7, 1)], "by_day"),
        ([Interval(-1, 7, 1)], "by_day"),
    ],
)
def test_intervals_that_cannot_be_are_refused(observed, field):
    with pytest.raises(BadInput) as refusal:
        turnbull(observed)
    assert refusal.value.field == field
