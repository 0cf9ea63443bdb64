"""Several people count one pot at the same moment; nobody's seedlings are lost or counted twice."""

import datetime
import time
import uuid

import pytest

from crosses.base.refusal import Refused
from seedbank.sowings.actions.count import record_count, withdraw_count
from seedbank.sowings.actions.seedling import keep_seedlings
from seedbank.sowings.models import Count, Replicate, Sowing
from tests.factories.sowings import SOWN_ON, count_pot, make_sowing, packet_in_hand, pot_of

pytestmark = pytest.mark.usefixtures("real_database")

PEOPLE = 6
# Long enough that everybody has looked before anybody writes.
PAUSE_SECONDS = 0.2


@pytest.fixture
def pot(tansy):
    """A pot of twenty seeds."""
    return pot_of(make_sowing(tansy, packet_in_hand(tansy, seeds=20)))


@pytest.fixture
def count_at_once(pot, tansy, at, all_at_once):
    """Return a function that has each person count the pot, all at once and on days of their own."""

    def do(number: int, *, one_day: bool = False, **facts):
        days = iter(range(10, 10 + PEOPLE))
        return all_at_once(
            lambda: record_count(
                replicate=pot,
                by=tansy,
                at=at,
                counted_on=SOWN_ON + datetime.timedelta(days=10 if one_day else next(days)),
                number=number,
                **facts,
            ),
            PEOPLE,
        )

    return do


def refused(answers: list) -> list[str]:
    stopped = [answer for answer in answers if isinstance(answer, Exception)]
    assert {type(each) for each in stopped} <= {Refused}
    return [each.code for each in stopped]


def test_control_looking_before_adding_loses_seedlings(pot, all_at_once):
    def look_then_add() -> None:
        seen = Replicate.objects.get(pk=pot.pk).germinated
        time.sleep(PAUSE_SECONDS)
        Replicate.objects.filter(pk=pot.pk).update(germinated=seen + 3)

    all_at_once(look_then_add, PEOPLE)
    pot.refresh_from_db()
    assert pot.germinated == 3


def test_everybodys_seedlings_are_added_up(pot, count_at_once):
    assert refused(count_at_once(3)) == []
    pot.refresh_from_db()
    assert pot.germinated == 3 * PEOPLE


def test_together_they_never_count_more_than_was_sown(pot, count_at_once):
    # Twice eight are within the twenty seeds; the third eight are not.
    assert refused(count_at_once(8)) == ["more-than-sown"] * (PEOPLE - 2)
    pot.refresh_from_db()
    assert (pot.germinated, pot.counts.count()) == (16, 2)


def test_of_totals_typed_at_once_the_pot_keeps_one_truth(pot, count_at_once):
    """Everybody sees the same eight; whoever comes second finds nothing new in them."""
    refused(count_at_once(8, typed_as="total"))
    pot.refresh_from_db()
    assert pot.germinated == 8 == sum(pot.counts.values_list("newly_seen", flat=True))


def test_one_day_is_counted_once(pot, count_at_once):
    assert refused(count_at_once(3, one_day=True)) == ["counted-that-day"] * (PEOPLE - 1)
    pot.refresh_from_db()
    assert pot.germinated == 3


def test_a_count_sent_many_times_at_once_is_one_count(pot, count_at_once):
    answers = count_at_once(3, one_day=True, client_key=uuid.UUID(int=5))
    assert {answer.pk for answer in answers} == {Count.objects.get().pk}
    pot.refresh_from_db()
    assert pot.germinated == 3


def test_a_sowing_sent_many_times_at_once_is_one_sowing(tansy, all_at_once):
    packet = packet_in_hand(tansy, seeds=20)
    answers = all_at_once(
        lambda: make_sowing(tansy, packet, seeds_sown=20, client_key=uuid.UUID(int=6)), PEOPLE
    )
    assert {answer.pk for answer in answers} == {Sowing.objects.get().pk}


def test_a_count_is_taken_back_once(pot, tansy, at, all_at_once):
    count, _other = count_pot(pot, 10, 3), count_pot(pot, 12, 4)

    def take_back() -> Count:
        seen = Count.objects.get(pk=count.pk)
        time.sleep(PAUSE_SECONDS)
        return withdraw_count(count=seen, by=tansy, at=at, reason="weeds")

    all_at_once(take_back, PEOPLE)
    pot.refresh_from_db()
    assert pot.germinated == 4


def test_no_more_seedlings_are_kept_than_came_up(pot, tansy, at, all_at_once):
    count_pot(pot, 10, 2)
    labels = iter(f"26-01-{label}" for label in range(PEOPLE))
    answers = all_at_once(
        lambda: keep_seedlings(sowing=pot.sowing, by=tansy, at=at, names=[next(labels)]), PEOPLE
    )
    assert refused(answers) == ["more-than-came-up"] * (PEOPLE - 2)
    assert pot.sowing.seedlings.count() == 2
