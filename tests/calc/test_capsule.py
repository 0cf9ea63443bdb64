from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crosses.calc.capsule import (
    KINDS_OF_CHECK,
    OpeningInterval,
    Seen,
    Taken,
    opening_interval,
)
from crosses.calc.capsule import capsule_state as reckoned
from crosses.calc.errors import BadInput

POLLINATED = date(2027, 4, 12)


def seen(days, kind, flowers=None):
    return Seen(POLLINATED + timedelta(days=days), kind, flowers)


def capsule_state(flowers, checks, harvested=0):
    """As the reckoning, with all capsules taken in after the last look."""
    last = max((check.day for check in checks), default=POLLINATED)
    return reckoned(flowers, [*checks, Taken(last, harvested)])


def counts(state):
    return (state.capsules_set, state.capsules_harvested, state.lost, state.failed)


@pytest.mark.parametrize(
    ("checks", "harvested", "state", "open_flowers"),
    [
        ([], 0, "waiting", 6),
        ([seen(4, "nothing_yet")], 0, "waiting", 6),
        ([seen(9, "corolla_faded")], 0, "waiting", 6),
        ([seen(9, "aborted", 2)], 0, "waiting", 4),
        ([seen(21, "swelling", 5)], 0, "taken", 6),
        ([seen(21, "swelling", 5), seen(90, "colouring", 1)], 0, "ripe", 6),
        ([seen(21, "swelling", 5), seen(101, "split", 1)], 0, "ripe", 6),
        ([seen(21, "swelling"), seen(101, "split")], 6, "harvested", 0),
        ([seen(21, "swelling"), seen(101, "shed")], 0, "lost", 0),
        ([seen(9, "aborted")], 0, "failed", 0),
        ([seen(9, "eaten")], 0, "lost", 0),
        ([], 6, "harvested", 0),
        ([], 2, "taken", 4),
        # Both that were split are in; of the others nobody has said that they took or did not.
        ([seen(101, "split", 2)], 2, "taken", 4),
        ([seen(101, "split", 2)], 1, "ripe", 5),
        # Two swelled and both are in: the other four did not take.
        ([seen(21, "swelling", 2), seen(101, "split", 2)], 2, "harvested", 0),
        ([seen(21, "swelling", 2), seen(101, "shed")], 0, "lost", 0),
        # A tap that says no number speaks of the two that had set.
        ([seen(21, "swelling", 2), seen(101, "split")], 0, "ripe", 6),
        ([seen(21, "swelling", 2), seen(101, "split"), seen(103, "still_there")], 2, "taken", 4),
        ([seen(9, "corolla_faded"), seen(50, "nothing_yet")], 0, "waiting", 6),
        ([seen(9, "corolla_faded"), seen(51, "nothing_yet")], 0, "failed", 0),
        (
            [seen(9, "corolla_faded"), seen(51, "nothing_yet"), seen(52, "still_there")],
            0,
            "waiting",
            6,
        ),
        ([seen(51, "nothing_yet")], 0, "waiting", 6),
        ([seen(21, "swelling", 2), seen(40, "eaten", 2)], 0, "waiting", 4),
    ],
)
def test_state_follows_from_what_was_seen(checks, harvested, state, open_flowers):
    result = capsule_state(6, checks, harvested)
    assert (result.state, result.open_flowers) == (state, open_flowers)


def test_a_flower_that_aborts_before_any_sign_failed():
    assert counts(capsule_state(6, [seen(9, "aborted", 2)])) == (0, 0, 0, 2)


def test_a_capsule_that_aborts_after_it_swelled_is_lost():
    checks = [seen(21, "swelling", 6), seen(40, "aborted", 2)]
    assert counts(capsule_state(6, checks)) == (6, 0, 2, 0)


def test_flowers_without_a_capsule_are_the_first_to_abort():
    checks = [seen(21, "swelling", 4), seen(30, "aborted", 3)]
    assert counts(capsule_state(6, checks)) == (4, 0, 1, 2)


def test_a_flower_eaten_before_it_took_is_lost_and_not_failed():
    assert counts(capsule_state(6, [seen(5, "eaten", 1)])) == (0, 0, 1, 0)


def test_a_capsule_found_empty_had_set_though_nobody_saw_it_swell():
    assert counts(capsule_state(6, [seen(100, "shed", 1)])) == (1, 0, 1, 0)


def test_capsules_lost_before_count_with_those_seen_later():
    checks = [seen(21, "swelling", 2), seen(30, "eaten", 2), seen(60, "swelling", 3)]
    assert counts(capsule_state(6, checks)) == (5, 0, 2, 0)


def test_a_smaller_count_later_does_not_lower_the_most_ever_seen():
    checks = [seen(21, "swelling", 5), seen(60, "swelling", 3)]
    assert capsule_state(6, checks).capsules_set == 5


def test_a_harvest_counts_as_set_without_any_check():
    assert counts(capsule_state(6, [], 4)) == (4, 4, 0, 0)


def test_the_rest_aborting_after_a_part_harvest_leaves_the_harvest_alone():
    checks = [seen(21, "swelling", 4), seen(110, "aborted")]
    result = capsule_state(6, checks, 4)
    assert (result.state, counts(result)) == ("harvested", (4, 4, 0, 2))


def test_all_that_are_open_swelling_after_some_aborted_is_the_remainder():
    checks = [seen(9, "aborted", 2), seen(21, "swelling")]
    assert capsule_state(6, checks).capsules_set == 4


@pytest.mark.parametrize(
    ("flowers", "checks", "harvested", "expected"),
    [
        # The invented season of the demo society: flowers, checks, harvested -> set, harvested.
        (6, [seen(21, "swelling", 5), seen(30, "aborted", 1)], 5, (5, 5, 0, 1)),
        (6, [seen(21, "swelling"), seen(95, "shed", 1)], 5, (6, 5, 1, 0)),
        (
            8,
            [seen(21, "swelling", 5), seen(30, "aborted", 3), seen(60, "eaten", 2)],
            3,
            (5, 3, 2, 3),
        ),
        (9, [seen(30, "aborted")], 0, (0, 0, 0, 9)),
    ],
)
def test_crosses_of_the_demo_season_add_up(flowers, checks, harvested, expected):
    result = capsule_state(flowers, checks, harvested)
    assert counts(result) == expected
    assert result.open_flowers == 0


def taken(days, capsules):
    return Taken(POLLINATED + timedelta(days=days), capsules)


def test_flowers_closed_after_the_harvest_say_why_and_are_opened_again_by_a_look():
    happened = [seen(21, "swelling", 2), seen(100, "colouring", 2), taken(101, 2)]
    closed = reckoned(3, happened)
    assert (closed.state, closed.open_flowers, closed.never_set) == ("harvested", 0, 1)
    assert closed.why_closed == "All 2 that were seen to set are gone; the other never was."
    assert closed.may_bear == 1
    again = reckoned(3, [*happened, seen(103, "still_there")])
    assert (again.state, again.open_flowers, again.why_closed) == ("taken", 1, "")
    third = reckoned(3, [*happened, seen(103, "swelling", 1)])
    assert (third.state, third.capsules_set, third.capsules_open) == ("taken", 3, 1)


def test_capsules_of_one_truss_open_days_apart():
    happened = [seen(21, "swelling", 3), seen(90, "split", 1)]
    assert (reckoned(5, happened).capsules_set, reckoned(5, happened).ripe) == (3, 1)
    after = reckoned(5, [*happened, taken(91, 1)])
    assert (after.state, after.ripe, after.capsules_open) == ("taken", 0, 2)
    next_one = reckoned(5, [*happened, taken(91, 1), seen(94, "split", 1)])
    assert (next_one.state, next_one.ripe, next_one.capsules_set) == ("ripe", 1, 3)


def test_where_only_splits_were_noted_the_others_stay_open():
    after = reckoned(3, [seen(90, "split", 1), taken(91, 1)])
    assert (after.state, after.open_flowers, after.ripe) == ("taken", 2, 0)


def test_checks_may_come_in_any_order():
    checks = [seen(60, "eaten", 2), seen(21, "swelling", 5), seen(30, "aborted", 3)]
    assert capsule_state(8, checks, 3) == capsule_state(8, sorted(checks, key=lambda s: s.day), 3)
    assert capsule_state(8, checks, 3).last_seen == POLLINATED + timedelta(days=60)


def test_the_sentence_names_every_count_and_the_last_look():
    checks = [seen(21, "swelling", 5), seen(30, "aborted", 1), seen(60, "eaten", 1)]
    assert capsule_state(6, checks, 3).sentence == (
        "6 flowers: 5 set, 3 harvested, 1 lost, 1 failed, 1 still open."
        " Last looked at on 11 June 2027."
    )


def test_the_sentence_of_one_flower_never_looked_at():
    assert capsule_state(1, []).sentence == "1 flower: 1 still open. Not looked at yet."


@pytest.mark.parametrize(
    ("flowers", "checks", "harvested", "sentence"),
    [
        (0, [], 0, "one flower or more"),
        (6, [], -1, "cannot be below 0"),
        (6, [], 7, "0 flowers gone and 7 harvested make 7, but only 6 were pollinated"),
        (6, [seen(9, "aborted", 4)], 3, "4 flowers gone and 3 harvested make 7"),
        (
            6,
            [seen(9, "aborted", 4), seen(10, "eaten", 3)],
            0,
            "On 22 April 2027 3 flowers were seen eaten, but only 2",
        ),
        (
            6,
            [seen(9, "aborted", 4), seen(30, "swelling", 3)],
            0,
            "3 flowers were seen swelling, but only 2",
        ),
        (
            6,
            [seen(9, "swelling", 7)],
            0,
            "7 flowers were seen swelling, but only 6 were still there",
        ),
        (6, [seen(9, "swelling", 0)], 0, "A check is of one flower or more"),
        (6, [seen(9, "wilted", 1)], 0, "Nothing called 'wilted'"),
    ],
)
def test_counts_that_cannot_be_are_refused_by_name(flowers, checks, harvested, sentence):
    with pytest.raises(BadInput, match=sentence):
        capsule_state(flowers, checks, harvested)


happenings = st.lists(
    st.builds(
        seen,
        st.integers(0, 200),
        st.sampled_from(sorted(KINDS_OF_CHECK)),
        st.none() | st.integers(1, 12),
    )
    | st.builds(taken, st.integers(0, 200), st.integers(1, 4)),
    max_size=9,
)


@given(flowers=st.integers(1, 12), happened=happenings)
def test_what_is_ripe_or_open_is_there(flowers, happened):
    try:
        result = reckoned(flowers, happened)
    except BadInput:
        return
    assert 0 <= result.ripe <= result.capsules_open <= result.open_flowers
    assert result.capsules_open + result.capsules_harvested <= result.capsules_set <= flowers
    assert (result.state == "ripe") == (result.ripe > 0)
    assert bool(result.never_set) == bool(result.why_closed)
    # What is known to have set is never closed, and what is closed opens again by one look.
    assert not (result.never_set and result.capsules_open)
    again = reckoned(flowers, [*happened, seen(200, "still_there")])
    assert again.open_flowers == result.may_bear
    assert again.never_set == 0


@given(
    flowers=st.integers(1, 12),
    checks=st.lists(
        st.builds(
            seen,
            st.integers(0, 200),
            st.sampled_from(sorted(KINDS_OF_CHECK)),
            st.none() | st.integers(1, 12),
        ),
        max_size=8,
    ),
    harvested=st.integers(0, 12),
)
def test_every_flower_is_accounted_for_once(flowers, checks, harvested):
    try:
        result = capsule_state(flowers, checks, harvested)
    except BadInput:
        return
    assert flowers == result.open_flowers + result.capsules_harvested + result.lost + result.failed
    assert result.open_flowers >= 0
    assert result.capsules_harvested <= result.capsules_set <= flowers
    assert result.failed <= flowers - result.capsules_harvested


@pytest.mark.parametrize(
    ("checks", "interval"),
    [
        (
            [seen(20, "swelling"), seen(99, "swelling"), seen(101, "split", 1)],
            OpeningInterval(99, 101),
        ),
        (
            [seen(20, "swelling"), seen(99, "colouring"), seen(103, "shed", 1)],
            OpeningInterval(99, 103),
        ),
        (
            [seen(101, "split", 1), seen(104, "colouring", 2), seen(110, "split", 2)],
            OpeningInterval(0, 101),
        ),
        ([seen(101, "colouring", 2), seen(101, "split", 1)], OpeningInterval(0, 101)),
        ([seen(20, "swelling")], OpeningInterval(20, None)),
        ([seen(20, "swelling"), seen(40, "aborted")], OpeningInterval(40, None)),
        ([seen(20, "swelling"), seen(40, "eaten")], OpeningInterval(20, None)),
        ([seen(30, "nothing_yet")], None),
        ([seen(9, "corolla_faded"), seen(14, "aborted")], None),
        ([seen(5, "eaten")], None),
        ([], None),
    ],
)
def test_a_capsule_opened_between_two_looks_and_never_on_the_day_of_finding(checks, interval):
    assert opening_interval(POLLINATED, checks) == interval


def test_a_capsule_cut_green_was_closed_until_then_and_nothing_more_is_known():
    checks = [seen(20, "swelling")]
    cut = POLLINATED + timedelta(days=95)
    assert opening_interval(POLLINATED, checks, cut) == OpeningInterval(95, None)
    assert opening_interval(POLLINATED, [], cut) == OpeningInterval(95, None)


def test_an_opening_before_its_pollination_is_refused():
    with pytest.raises(BadInput, match="before the day of pollination, 12 April 2027"):
        opening_interval(POLLINATED, [seen(-1, "swelling")])
    with pytest.raises(BadInput, match="cannot split on the day of pollination"):
        opening_interval(POLLINATED, [seen(0, "split")])
