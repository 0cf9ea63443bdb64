"""Writing pollinations down: once each, in the right cross, never an impossible one."""

import datetime
import uuid

import pytest

from crosses.actions.capsule import record_check
from crosses.actions.cross import plan_cross
from crosses.actions.pollination import (
    Pair,
    add_touch_up,
    change_pollination,
    log_both_ways,
    log_pollination,
    withdraw_pollination,
)
from crosses.base.refusal import Refused
from crosses.models import Cross, Pollination
from crosses.queries.took import take_of
from tests.conftest import NOON
from tests.factories.crosses import make_cross, make_plant, make_pollination

APRIL_12 = datetime.date(2026, 4, 12)


def pair_of(seed_parent, pollen_parent, own_number=""):
    return Pair(
        seed_parent=seed_parent,
        pollen=Cross.Pollen.PLANT,
        pollen_parent=pollen_parent,
        season=2026,
        own_number=own_number,
    )


def test_a_pair_without_a_cross_gets_one_with_the_next_own_number(tansy, smoke, lemon, at):
    make_cross(tansy, own_number="26-06")
    pollination = log_pollination(
        cross=pair_of(smoke, lemon), by=tansy, at=at, pollinated_on=APRIL_12, flowers=6
    )
    assert pollination.cross.own_number == "26-07"
    assert (pollination.cross.seed_parent, pollination.cross.pollen_parent) == (smoke, lemon)
    assert pollination.flowers == 6
    assert pollination.state == Pollination.State.WAITING


def test_the_same_pair_of_the_season_joins_its_cross(tansy, smoke, lemon, at):
    first = log_pollination(cross=pair_of(smoke, lemon), by=tansy, at=at, pollinated_on=APRIL_12)
    second = log_pollination(cross=pair_of(smoke, lemon), by=tansy, at=at, pollinated_on=APRIL_12)
    assert second.cross == first.cross
    assert second.number != first.number


def test_the_other_way_round_is_another_cross(tansy, smoke, lemon, at):
    there = log_pollination(cross=pair_of(smoke, lemon), by=tansy, at=at, pollinated_on=APRIL_12)
    back = log_pollination(cross=pair_of(lemon, smoke), by=tansy, at=at, pollinated_on=APRIL_12)
    assert back.cross != there.cross


def test_the_same_gesture_sent_twice_is_one_pollination_and_one_cross(tansy, smoke, lemon, at):
    key = uuid.UUID(int=7)
    facts = {"by": tansy, "at": at, "pollinated_on": APRIL_12, "client_key": key}
    first = log_pollination(cross=pair_of(smoke, lemon, "26-01"), **facts)
    second = log_pollination(cross=pair_of(smoke, lemon, "26-01"), **facts)
    assert second == first
    assert Pollination.objects.count() == 1
    assert Cross.objects.count() == 1


def test_both_ways_makes_two_linked_crosses_with_their_own_flowers(tansy, smoke, lemon, at):
    there, back = log_both_ways(
        cross=pair_of(smoke, lemon),
        by=tansy,
        at=at,
        pollinated_on=APRIL_12,
        flowers=6,
        flowers_back=4,
    )
    assert back.cross.reciprocal_of == there.cross
    assert (back.cross.seed_parent, back.cross.pollen_parent) == (lemon, smoke)
    assert (there.flowers, back.flowers) == (6, 4)


def test_both_ways_sent_twice_makes_two_pollinations_and_not_four(tansy, smoke, lemon, at):
    gesture = {
        "cross": pair_of(smoke, lemon),
        "by": tansy,
        "at": at,
        "pollinated_on": APRIL_12,
        "client_key": uuid.UUID(int=9),
    }
    assert log_both_ways(**gesture) == log_both_ways(**gesture)
    assert Pollination.objects.count() == 2
    assert Cross.objects.count() == 2


def test_stored_pollen_goes_one_way_and_nothing_is_written(tansy, smoke, lemon, at):
    with pytest.raises(Refused) as no:
        log_both_ways(
            cross=pair_of(smoke, lemon),
            by=tansy,
            at=at,
            pollinated_on=APRIL_12,
            pollen_state="stored",
        )
    assert no.value.field == "both_ways"
    assert not Cross.objects.exists()


def test_a_day_to_come_is_refused_at_its_field(tansy, at, today):
    cross = make_cross(tansy)
    with pytest.raises(Refused) as no:
        log_pollination(
            cross=cross, by=tansy, at=at, pollinated_on=today + datetime.timedelta(days=1)
        )
    assert no.value.field == "pollinated_on"


def test_a_plant_that_had_died_bears_no_seed(tansy, at):
    dead = make_plant(tansy, died_on=datetime.date(2026, 4, 1))
    cross = make_cross(tansy, seed_parent=dead)
    with pytest.raises(Refused) as no:
        log_pollination(cross=cross, by=tansy, at=at, pollinated_on=APRIL_12)
    assert "dead by then" in no.value.message


def test_a_dead_plants_pollen_is_stored_pollen(tansy, at):
    dead = make_plant(tansy, "Primula 'Nettlemere Dusk'", died_on=datetime.date(2026, 4, 1))
    cross = make_cross(tansy, pollen_parent=dead)
    facts = {"cross": cross, "by": tansy, "at": at, "pollinated_on": APRIL_12}
    with pytest.raises(Refused) as no:
        log_pollination(**facts)
    assert no.value.field == "pollen_state"
    stored = log_pollination(**facts, pollen_state="stored", pollen_stored_days=330)
    assert stored.pollen_stored_days == 330


def test_fresh_pollen_was_not_stored_in_a_freezer(tansy, at):
    with pytest.raises(Refused) as no:
        log_pollination(
            cross=make_cross(tansy),
            by=tansy,
            at=at,
            pollinated_on=APRIL_12,
            pollen_stored_how="freezer",
        )
    assert no.value.field == "pollen_state"


def test_nothing_is_logged_on_a_withdrawn_cross(tansy, at):
    cross = make_cross(tansy)
    cross.withdrawn_at, cross.withdrawn_by, cross.withdrawn_reason = at, tansy, "a slip"
    cross.save()
    with pytest.raises(Refused) as no:
        log_pollination(cross=cross, by=tansy, at=at, pollinated_on=APRIL_12)
    assert no.value.code == "withdrawn"


def test_a_touch_up_comes_after_the_pollination(tansy, at):
    pollination = make_pollination(tansy)
    with pytest.raises(Refused) as no:
        add_touch_up(pollination=pollination, by=tansy, at=at, done_on=datetime.date(2026, 4, 11))
    assert no.value.field == "done_on"
    add_touch_up(pollination=pollination, by=tansy, at=at, done_on=datetime.date(2026, 4, 13))
    assert pollination.touch_ups.count() == 1
    assert Pollination.objects.get().flowers == 1


def test_a_correction_keeps_what_was_written_before(tansy, at):
    pollination = make_pollination(tansy, flowers=6)
    change_pollination(pollination=pollination, by=tansy, at=at, why="miscounted", flowers=5)
    told = pollination.history.order_by("history_date", "history_id")
    assert [version.flowers for version in told] == [6, 5]
    assert told.last().history_user == tansy


def test_a_withdrawn_pollination_stays_with_its_reason(tansy, at):
    pollination = make_pollination(tansy)
    withdraw_pollination(pollination=pollination, by=tansy, at=at, reason="wrong plant")
    kept = Pollination.objects.get()
    assert (kept.withdrawn_by, kept.withdrawn_reason) == (tansy, "wrong plant")


class TestPlanning:
    """What a cross may be of."""

    def test_the_same_plant_on_both_sides_is_refused_in_words(self, tansy, smoke, at):
        with pytest.raises(Refused) as no:
            plan_cross(
                grower=tansy,
                by=tansy,
                at=at,
                own_number="26-01",
                season=2026,
                seed_parent=smoke,
                pollen_parent=smoke,
            )
        assert no.value.field == "pollen_parent"
        assert "selfing" in no.value.message

    def test_a_selfing_is_said_to_be_one(self, tansy, smoke):
        assert make_cross(tansy, seed_parent=smoke, pollen=Cross.Pollen.SELF).pollen == "self"

    def test_an_own_number_serves_one_cross_a_season(self, tansy, cosmo, smoke):
        make_cross(tansy, own_number="26-01")
        make_cross(cosmo, own_number="26-01")
        make_cross(tansy, own_number="26-01", season=2025)
        with pytest.raises(Refused) as no:
            make_cross(tansy, own_number="26-01")
        assert no.value.field == "own_number"

    def test_a_mixture_is_of_two_plants_or_more(self, tansy, smoke, lemon):
        with pytest.raises(Refused) as no:
            make_cross(tansy, seed_parent=smoke, pollen=Cross.Pollen.MIXED, mixture=[(lemon, 1)])
        assert no.value.field == "mixture"

    def test_a_reciprocal_has_its_parents_swapped(self, tansy, smoke, lemon):
        cross = make_cross(tansy, seed_parent=smoke, pollen_parent=lemon)
        with pytest.raises(Refused) as no:
            make_cross(tansy, seed_parent=smoke, pollen_parent=lemon, reciprocal_of=cross)
        assert no.value.code == "not-reciprocal"

    def test_a_cross_of_a_hidden_plant_is_hidden_with_it(self, tansy, lemon):
        secret = make_plant(tansy, "Primula secret", visibility="me")
        assert make_cross(tansy, seed_parent=secret, pollen_parent=lemon).visibility == "me"


def test_a_visit_that_finds_no_pollen_is_no_pollination(tansy):
    visit = make_pollination(tansy, pollen_seen=False)
    assert visit.state == Pollination.State.NO_POLLEN
    took = make_pollination(tansy, visit.cross)
    record_check(pollination=took, by=tansy, at=NOON, seen_on=NOON.date(), kind="swelling")
    # One of one: the visit is in no figure of what took.
    assert (take_of(visit.cross).x, take_of(visit.cross).n) == (1, 1)
    corrected = change_pollination(
        pollination=visit, by=tansy, at=NOON, why="there was some", pollen_seen=True
    )
    assert corrected.state == Pollination.State.WAITING


def test_a_capsule_that_sets_all_the_same_had_pollen(tansy):
    visit = make_pollination(tansy, pollen_seen=False)
    record_check(pollination=visit, by=tansy, at=NOON, seen_on=NOON.date(), kind="swelling")
    visit.refresh_from_db()
    assert visit.state == Pollination.State.TAKEN
