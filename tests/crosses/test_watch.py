"""The watch list of a day: what would be lost first stands first."""

import datetime

import pytest

from crosses.actions.capsule import record_check, withdraw_check
from crosses.actions.harvest import log_harvest
from crosses.actions.pollination import withdraw_pollination
from crosses.queries.watch import DAYS_BETWEEN_LOOKS, MINUTES_TO_TAKE_BACK, watch_list
from tests.conftest import NOON, TODAY
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination


@pytest.fixture
def plant(tansy):
    taxon = TaxonFactory(species="", ripe_low_days=20, ripe_high_days=40)
    return make_plant(tansy, taxon=taxon)


@pytest.fixture
def pollinated(tansy, plant):
    """Return a function that makes a pollination so many days ago, seen in a way since."""

    def make(days_ago, kind="", seen_days_ago=0, grower=tansy, seed_parent=plant, **facts):
        day = TODAY - datetime.timedelta(days=days_ago)
        cross = make_cross(grower, seed_parent=seed_parent)
        pollination = make_pollination(grower, cross, pollinated_on=day, **facts)
        if kind:
            look(grower, pollination, kind, seen_days_ago)
        return pollination

    return make


def look(grower, pollination, kind, days_ago=0, at=NOON, flowers=None):
    day = TODAY - datetime.timedelta(days=days_ago)
    return record_check(
        pollination=pollination, by=grower, at=at, seen_on=day, kind=kind, flowers=flowers
    )


def watched(tansy, days=1, at=NOON):
    return watch_list(tansy, TODAY, at, days_to_next_visit=days)


def numbers(rows):
    return [each.row.pollination.number for each in rows]


def test_ripe_comes_first_then_the_likelier_to_split_before_the_next_visit(tansy, pollinated):
    middle = pollinated(22, "swelling", 1)
    late = pollinated(35, "swelling", 1)
    ripe = pollinated(18, "colouring", 1)
    now = watched(tansy, days=3).now
    assert numbers(now) == [ripe.number, late.number, middle.number]
    assert now[1].chance > now[2].chance


def test_a_capsule_that_can_wait_till_tomorrow_is_due_before_a_week_away(tansy, pollinated):
    # The book's window is day 20 to 40; on day 14 little is open tomorrow, and more in a week.
    early = pollinated(14, "swelling", 1)
    assert numbers(watched(tansy, days=1).later) == [early.number]
    assert numbers(watched(tansy, days=7).now) == [early.number]


def test_of_two_that_are_as_likely_the_one_with_more_capsules_comes_first(tansy, pollinated):
    one, six = pollinated(35, "swelling", 1), pollinated(35, "swelling", 1, flowers=6)
    assert numbers(watched(tansy).now) == [six.number, one.number]


def test_what_was_looked_at_today_is_off_the_list_unless_it_is_ripe(tansy, pollinated):
    seen, ripe = pollinated(35, "nothing_yet"), pollinated(35, "split")
    found = watched(tansy)
    assert numbers(found.now) == [ripe.number]
    assert numbers(found.seen_today) == [seen.number]


def test_a_look_taken_back_puts_the_flower_on_the_list_again(tansy, pollinated):
    flower = pollinated(35, "swelling", 1)
    check = look(tansy, flower, "nothing_yet")
    assert not watched(tansy).now
    withdraw_check(check=check, by=tansy, at=NOON, reason="thumb")
    assert numbers(watched(tansy).now) == [flower.number]


def test_whether_it_took_is_asked_two_days_after_and_then_once_a_week(tansy, pollinated):
    fresh, faded = pollinated(1), pollinated(2)
    asked = pollinated(9, "nothing_yet", DAYS_BETWEEN_LOOKS - 1)
    again = pollinated(9, "nothing_yet", DAYS_BETWEEN_LOOKS)
    found = watched(tansy)
    assert set(numbers(found.now)) == {faded.number, again.number}
    assert set(numbers(found.later)) == {fresh.number, asked.number}
    assert all(each.why.startswith("Has it taken?") for each in found.now)


def test_where_no_pollen_was_found_nothing_is_watched(tansy, pollinated):
    flower = pollinated(5, pollen_seen=False)
    found = watched(tansy)
    assert not found.now + found.later + found.seen_today + found.closed
    # A capsule that swells all the same had pollen.
    look(tansy, flower, "swelling", 1)
    assert numbers(watched(tansy, days=40).now) == [flower.number]


def harvested(tansy, flower, capsules, days_ago=0):
    return log_harvest(
        cross=flower.cross,
        by=tansy,
        at=NOON,
        harvested_on=TODAY - datetime.timedelta(days=days_ago),
        capsules=[(flower, capsules)],
        seed_counting="not_yet",
    )


def test_when_all_that_set_are_in_the_others_are_closed_with_the_reason(tansy, pollinated):
    flower = pollinated(35, flowers=3)
    look(tansy, flower, "swelling", 20, flowers=2)
    look(tansy, flower, "colouring", 2, flowers=2)
    harvested(tansy, flower, 2, days_ago=1)
    found = watched(tansy)
    assert not found.now + found.later + found.seen_today
    assert [each.why for each in found.closed] == [
        "All 2 that were seen to set are gone; the other never was."
    ]
    look(tansy, flower, "still_there")
    again = watched(tansy)
    assert not again.closed
    assert numbers(again.seen_today) == [flower.number]


def test_a_flower_never_seen_set_is_closed_when_its_window_is_long_past(tansy, pollinated):
    # The book's window is day 20 to 40.
    in_time, past = pollinated(38), pollinated(90)
    found = watched(tansy)
    assert numbers(found.now) == [in_time.number]
    assert numbers(found.closed) == [past.number]
    assert found.closed[0].why == "Nobody saw it set, and if it had, it would have split by now."
    look(tansy, past, "still_there")
    assert not watched(tansy).closed


def test_a_flower_of_an_unknown_kind_is_asked_after_for_a_year_and_a_half(tansy, pollinated):
    lily = make_plant(tansy, "Lilium regale")
    young, old = pollinated(500, seed_parent=lily), pollinated(600, seed_parent=lily)
    found = watched(tansy)
    assert (numbers(found.now), numbers(found.closed)) == ([young.number], [old.number])


def test_nothing_yet_moves_a_ripe_card_down_for_the_day(tansy, pollinated):
    flower = pollinated(35, "colouring", 1)
    assert numbers(watched(tansy).now) == [flower.number]
    look(tansy, flower, "nothing_yet")
    found = watched(tansy)
    assert (numbers(found.now), numbers(found.seen_today)) == ([], [flower.number])


def test_when_one_of_a_truss_is_in_the_others_are_forecast_on(tansy, pollinated):
    flower = pollinated(35, flowers=5)
    look(tansy, flower, "swelling", 20, flowers=3)
    look(tansy, flower, "split", 1, flowers=1)
    assert watched(tansy).now[0].why.startswith("Ripe")
    harvested(tansy, flower, 1, days_ago=1)
    left = watched(tansy).now[0]
    # The others were seen closed on the day the first had split.
    assert "before your next visit" in left.why
    assert left.row.state.capsules_open == 2


def test_a_capsule_of_an_unknown_kind_is_asked_after_once_a_week(tansy, pollinated):
    lily = make_plant(tansy, "Lilium regale")
    pollinated(40, "swelling", 3, seed_parent=lily)
    waiting = pollinated(40, "swelling", 8, seed_parent=lily)
    assert numbers(watched(tansy).now) == [waiting.number]


def test_what_nobody_looked_at_for_too_long_is_not_given_a_percentage(tansy, pollinated):
    pollinated(90, "swelling", 80)
    assert "probably split already" in watched(tansy).now[0].why


def test_anothers_and_withdrawn_flowers_are_not_on_the_list(tansy, cosmo, pollinated):
    pollinated(35, "swelling", 1, grower=cosmo)
    gone = pollinated(35, "swelling", 1)
    withdraw_pollination(pollination=gone, by=tansy, at=NOON, reason="twice")
    found = watched(tansy)
    assert not found.now + found.later + found.seen_today


def test_a_tap_can_be_taken_back_for_a_while(tansy, pollinated):
    flower = pollinated(35, "swelling", 1)
    check = look(tansy, flower, "nothing_yet")
    just_after = NOON + datetime.timedelta(minutes=MINUTES_TO_TAKE_BACK - 1)
    long_after = NOON + datetime.timedelta(minutes=MINUTES_TO_TAKE_BACK)
    assert watched(tansy, at=just_after).just_noted == (check,)
    assert watched(tansy, at=long_after).just_noted == ()
