"""Requests of one member at the same moment, answered by several processes."""

import datetime
import time
import uuid

import pytest
from rest_framework.test import APIClient

from crosses.base.clock import now
from seedbank.members.actions.tally import count_one
from seedbank.members.actions.token import make_token
from seedbank.members.models import KeptAnswer, Tally
from seedbank.sowings.models import Count
from tests.factories.sowings import make_sowing

pytestmark = pytest.mark.usefixtures("real_database")

PEOPLE = 6
HOUR = datetime.timedelta(hours=1)
# Long enough that everybody has looked before anybody writes.
PAUSE_SECONDS = 0.2


def test_control_looking_before_counting_loses_requests(all_at_once):
    Tally.objects.create(key="requests", times=0, ends_at=now() + HOUR)

    def look_then_count() -> None:
        seen = Tally.objects.get(key="requests").times
        time.sleep(PAUSE_SECONDS)
        Tally.objects.filter(key="requests").update(times=seen + 1)

    all_at_once(look_then_count, PEOPLE)
    assert Tally.objects.get().times < PEOPLE


def test_no_request_of_many_at_once_is_passed_over(all_at_once):
    answers = all_at_once(lambda: count_one("requests", at=now(), window=HOUR).times, PEOPLE)
    assert sorted(answers) == list(range(1, PEOPLE + 1))


def test_a_write_sent_many_times_at_once_is_done_once(tansy, all_at_once):
    sowing = make_sowing(tansy)
    _token, secret = make_token(member=tansy, name="hut", at=now(), life=HOUR, scope="log")
    count = {"counted_on": str(sowing.sown_on + HOUR * 24), "number": 7, "typed_as": "new"}
    headers = {"Authorization": f"Bearer {secret}", "Idempotency-Key": str(uuid.UUID(int=7))}

    def send() -> tuple[int, dict]:
        answer = APIClient().post(
            f"/api/v1/sowings/{sowing.number}/counts/", count, headers=headers
        )
        return answer.status_code, answer.json()

    answers = all_at_once(send, PEOPLE)
    assert all(answer == answers[0] for answer in answers)
    assert answers[0][0] == 201
    assert Count.objects.count() == KeptAnswer.objects.count() == 1
