"""One gesture, sent several times at one moment, as a phone does that lost its signal."""

import datetime
import time
import uuid

import pytest

from crosses.actions.capsule import record_check
from crosses.actions.harvest import log_harvest
from crosses.actions.pollination import Pair, log_both_ways, log_pollination
from crosses.base.refusal import Refused
from crosses.models import Check, Cross, Harvest, Pollination
from tests.factories.crosses import make_plant, make_pollination

pytestmark = pytest.mark.usefixtures("real_database")

SENDS = 6
APRIL_12 = datetime.date(2026, 4, 12)
MAY_1 = datetime.date(2026, 5, 1)
PAUSE_SECONDS = 0.2


@pytest.fixture
def pair(tansy):
    return Pair(
        seed_parent=make_plant(tansy, "Primula 'Quillfeather Smoke'"),
        pollen=Cross.Pollen.PLANT,
        pollen_parent=make_plant(tansy, "Primula 'Oddwater Lemon'"),
        season=2026,
        own_number="26-01",
    )


def test_control_looking_before_writing_lets_every_send_through(tansy, at, all_at_once):
    pollination = make_pollination(tansy)
    key = uuid.UUID(int=1)

    def look_then_write() -> None:
        if Check.objects.filter(client_key=key).exists():
            return
        time.sleep(PAUSE_SECONDS)
        # No key: what a table without the unique key would take.
        record_check(pollination=pollination, by=tansy, at=at, seen_on=MAY_1, kind="nothing_yet")

    all_at_once(look_then_write, SENDS)
    assert Check.objects.count() == SENDS


def test_a_look_sent_many_times_at_once_is_one_look(tansy, at, all_at_once):
    pollination = make_pollination(tansy)
    answers = all_at_once(
        lambda: record_check(
            pollination=pollination,
            by=tansy,
            at=at,
            seen_on=MAY_1,
            kind="swelling",
            client_key=uuid.UUID(int=1),
        ),
        SENDS,
    )
    assert {answer.pk for answer in answers} == {Check.objects.get().pk}


def test_a_pair_sent_many_times_at_once_is_one_pollination_and_one_cross(
    tansy, at, pair, all_at_once
):
    answers = all_at_once(
        lambda: log_pollination(
            cross=pair, by=tansy, at=at, pollinated_on=APRIL_12, client_key=uuid.UUID(int=2)
        ),
        SENDS,
    )
    assert {answer.pk for answer in answers} == {Pollination.objects.get().pk}
    assert Cross.objects.count() == 1


def test_both_ways_sent_many_times_at_once_is_two_pollinations(tansy, at, pair, all_at_once):
    answers = all_at_once(
        lambda: log_both_ways(
            cross=pair, by=tansy, at=at, pollinated_on=APRIL_12, client_key=uuid.UUID(int=3)
        ),
        SENDS,
    )
    assert not [answer for answer in answers if isinstance(answer, Exception)]
    assert (Pollination.objects.count(), Cross.objects.count()) == (2, 2)


def test_the_last_capsule_is_harvested_once(tansy, at, all_at_once):
    pollination = make_pollination(tansy)
    answers = all_at_once(
        lambda: log_harvest(
            cross=pollination.cross,
            by=tansy,
            at=at,
            harvested_on=MAY_1,
            capsules=[(pollination, 1)],
            seed_counting="not_yet",
        ),
        SENDS,
    )
    assert Harvest.objects.count() == 1
    losers = [answer for answer in answers if isinstance(answer, Exception)]
    assert {type(loser) for loser in losers} == {Refused}
    assert {loser.code for loser in losers} == {"more-than-open"}
