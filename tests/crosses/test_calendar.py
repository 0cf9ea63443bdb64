"""The watch list as a calendar file: when to look, and cancelled when there is nothing left."""

import datetime

import pytest
from django.urls import reverse

from crosses.actions.capsule import record_check
from crosses.queries.calendar import watch_events
from tests.conftest import NOON
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination

TODAY = NOON.date()


@pytest.fixture
def pollination(tansy):
    taxon = TaxonFactory(species="", ripe_low_days=20, ripe_high_days=40)
    cross = make_cross(tansy, seed_parent=make_plant(tansy, taxon=taxon))
    return make_pollination(tansy, cross, pollinated_on=TODAY - datetime.timedelta(days=5))


def test_a_flower_stands_in_the_days_when_it_may_split(tansy, pollination):
    event = watch_events(tansy, TODAY)[0]
    # The book's central 80 % is day 20 to 40 after pollination; today is day 5.
    assert abs((event.first_day - TODAY).days - 15) <= 2
    assert abs((event.last_day - TODAY).days - 35) <= 2
    assert pollination.cross.own_number in event.summary
    assert not event.is_cancelled


def test_a_lost_flower_is_cancelled_under_the_same_identifier(tansy, pollination, at):
    before = watch_events(tansy, TODAY)[0]
    record_check(pollination=pollination, by=tansy, at=at, seen_on=TODAY, kind="aborted")
    after = watch_events(tansy, TODAY)[0]
    assert (after.uid, after.is_cancelled) == (before.uid, True)
    assert after.sequence > before.sequence


def test_a_flower_without_a_window_has_no_day(tansy):
    make_pollination(tansy, make_cross(tansy, seed_parent=make_plant(tansy, "Lilium regale")))
    assert watch_events(tansy, TODAY) == []


def test_the_file_holds_ones_own_flowers_only(tansy, cosmo, pollination, signed_in, time_machine):
    time_machine.move_to(NOON)
    own = signed_in(tansy).get(reverse("pollination-calendar"))
    assert own.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert pollination.number in own.content.decode()
    assert (
        pollination.number
        not in signed_in(cosmo).get(reverse("pollination-calendar")).content.decode()
    )
