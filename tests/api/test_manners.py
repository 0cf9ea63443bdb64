"""What every answer has in common: problems, limits, versions."""

import datetime
import logging

import pytest

from seedbank.api import limits
from tests.factories.sowings import counted_sowing

pytestmark = pytest.mark.django_db

ME = "/api/v1/me/"
PROBLEM = {"type", "title", "status", "detail", "code", "errors"}


@pytest.fixture
def script(wilhelmina, with_key):
    return with_key(wilhelmina)


@pytest.mark.parametrize(
    ("method", "address", "extra", "status"),
    [
        ("get", "/api/v1/germination/?parnt=x", {}, 400),
        ("get", "/api/v1/nothing/here/", {}, 404),
        ("get", "/api/v1/germination", {}, 404),
        ("get", "/api/v1/lots/L999999-65/", {}, 404),
        ("get", ME, {"headers": {"accept": "image/png"}}, 406),
        ("post", "/api/v1/sowings/", {"data": "a=1", "content_type": "text/plain"}, 403),
    ],
)
def test_every_error_is_a_problem_document(script, method, address, extra, status):
    answer = getattr(script, method)(address, **extra)
    assert answer.status_code == status
    assert answer["Content-Type"] == "application/problem+json"
    told = answer.json()
    assert set(told) == PROBLEM
    assert told["status"] == status
    assert told["type"].endswith(f"/api/v1/#problem-{status}")


def test_a_method_an_address_does_not_take_is_a_problem_document(tansy, with_key):
    answer = with_key(tansy, scope="log").delete(ME)
    assert (answer.status_code, set(answer.json())) == (405, PROBLEM)


@pytest.mark.parametrize(
    ("sent", "status"),
    [({"data": "a=1", "content_type": "text/plain"}, 415), ({"data": [1, 2]}, 400)],
)
def test_a_body_that_cannot_be_read_is_a_problem_document(tansy, with_key, sent, status):
    answer = with_key(tansy, scope="log").post("/api/v1/sowings/", **sent)
    assert (answer.status_code, set(answer.json())) == (status, PROBLEM)


def test_a_body_that_is_not_json_is_a_problem_document(tansy, with_key):
    script = with_key(tansy, scope="log")
    answer = script.post("/api/v1/sowings/", data="{", content_type="application/json")
    assert (answer.status_code, set(answer.json())) == (400, PROBLEM)


def test_too_much_at_once_is_refused_before_it_is_read(tansy, with_key, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 100
    answer = with_key(tansy, scope="log").post("/api/v1/sowings/", {"note": "x" * 200})
    assert (answer.status_code, set(answer.json())) == (413, PROBLEM)


def test_a_crash_is_a_problem_document_too(wilhelmina, with_key, monkeypatch, caplog):
    def crash(*_args):
        raise RuntimeError("the shelf fell down")

    monkeypatch.setattr("seedbank.api.views.me.MeSerializer.to_representation", crash)
    script = with_key(wilhelmina)
    script.raise_request_exception = False
    with caplog.at_level(logging.CRITICAL):
        answer = script.get(ME)
    assert (answer.status_code, set(answer.json())) == (500, PROBLEM)
    assert "shelf" not in answer.text


def test_the_limit_is_told_and_counts_down(script):
    left = [script.get(ME)["RateLimit"] for _ in range(2)]
    assert left[0].startswith('"member";r=2999;t=')
    assert left[1].startswith('"member";r=2998;t=')
    assert script.get(ME)["RateLimit-Policy"] == '"member";q=3000;w=3600'


def test_too_many_requests_must_wait_and_are_told_how_long(script, monkeypatch, time_machine):
    time_machine.move_to(datetime.datetime.now(datetime.UTC), tick=False)
    monkeypatch.setattr(limits, "MOST_REQUESTS", 2)
    assert [script.get(ME).status_code for _ in range(3)] == [200, 200, 429]
    answer = script.get(ME)
    assert answer["Retry-After"] == "3600"
    assert answer["RateLimit"] == '"member";r=0;t=3600'
    assert set(answer.json()) == PROBLEM
    time_machine.shift(datetime.timedelta(seconds=3600))
    assert script.get(ME).status_code == 200


def test_a_limit_is_each_members_own_whatever_key_they_use(wilhelmina, tansy, with_key):
    with_key(wilhelmina).get(ME)
    with_key(wilhelmina).get(ME)
    assert with_key(tansy).get(ME)["RateLimit"].startswith('"member";r=2999')
    assert with_key(wilhelmina).get(ME)["RateLimit"].startswith('"member";r=2997')


def test_what_the_reader_has_is_not_sent_again(script, tansy):
    address = "/api/v1/germination/"
    counted_sowing(tansy, 5, 20)
    version = script.get(address)["ETag"]
    answer = script.get(address, headers={"If-None-Match": version})
    assert (answer.status_code, answer.content) == (304, b"")
    assert answer["RateLimit"]
    counted_sowing(tansy, 6, 20)
    assert script.get(address, headers={"If-None-Match": version}).status_code == 200


def test_an_answer_is_kept_by_nobody_between(script):
    answer = script.get(ME)
    assert "private" in answer["Cache-Control"]
    assert "Authorization" in answer["Vary"]
