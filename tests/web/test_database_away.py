"""A database that is busy, away, full or not to be written to is said as such, and what was sent is safe."""

import pytest
from django.db import (
    DatabaseError,
    IntegrityError,
    InterfaceError,
    InternalError,
    OperationalError,
    connection,
)
from django.urls import reverse

from seedbank.api.away import BUSY, FULL, GONE, READ_ONLY, away_of
from tests.factories.crosses import make_plant
from tests.factories.sowings import counted_sowing

# What SQLite 3.40 and PostgreSQL 15 say (their sources' own messages).
SAID = [
    (OperationalError("database is locked"), BUSY),
    (OperationalError("database table is locked: bank_packet"), BUSY),
    (OperationalError("canceling statement due to lock timeout"), BUSY),
    (OperationalError("deadlock detected"), BUSY),
    (OperationalError("canceling statement due to statement timeout"), BUSY),
    (OperationalError("attempt to write a readonly database"), READ_ONLY),
    (InternalError("cannot execute INSERT in a read-only transaction"), READ_ONLY),
    (OperationalError("database or disk is full"), FULL),
    (OperationalError('could not extend file "base/5/1259": No space left on device'), FULL),
    (OperationalError("connection failed: Connection refused"), GONE),
    (OperationalError("terminating connection due to administrator command"), GONE),
    (InterfaceError("connection already closed"), GONE),
    (OperationalError("unable to open database file"), GONE),
]


@pytest.mark.parametrize(("error", "away"), SAID, ids=lambda part: str(part)[:40])
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_page_says_what_is_the_matter_and_when_to_come_again(
    error, away, method, tansy, signed_in, monkeypatch
):
    client = signed_in(tansy)
    client.raise_request_exception = False

    def fail(*_arguments, **_options):
        raise error

    monkeypatch.setattr("seedbank.web.views.home.round_now", fail)
    answer = getattr(client, method)(reverse("home"))
    assert answer.status_code == 503
    assert answer["Retry-After"] == str(away.seconds)
    assert away.words in answer.text
    assert "Nothing of what you sent was saved" in answer.text


@pytest.mark.parametrize(("error", "away"), SAID, ids=lambda part: str(part)[:40])
def test_a_script_is_told_in_a_problem_document(error, away, tansy, signed_in, monkeypatch):
    client = signed_in(tansy)
    client.raise_request_exception = False

    def fail(*_arguments, **_options):
        raise error

    monkeypatch.setattr("seedbank.api.views.me.MeSerializer.to_representation", fail)
    answer = client.get(reverse("api-me"))
    assert (answer.status_code, answer["Content-Type"]) == (503, "application/problem+json")
    assert answer["Retry-After"] == str(away.seconds)
    assert answer.json()["detail"].startswith(away.words)


def test_it_is_found_behind_what_was_made_of_it():
    error = RuntimeError("no plant")
    error.__cause__ = OperationalError("database is locked")
    assert away_of(error) == BUSY


@pytest.mark.parametrize(
    "error", [RuntimeError("is locked"), IntegrityError("unique"), DatabaseError("odd"), None]
)
def test_a_fault_of_ours_stays_one(error):
    assert away_of(error) is None


@pytest.mark.django_db
# There a transaction that was made read-only stays so, and what a test leaves could not be undone.
@pytest.mark.skipif(connection.vendor != "sqlite", reason="asked of the embedded database")
@pytest.mark.parametrize(
    "address",
    [
        "/api/v1/germination/", "/api/v1/germination/?format=csv", "/api/v1/plants/", "/api/v1/me/",
        "/api/v1/germination/summary/?group_by=taxon", "/brapi/v2/germplasm",
        "/", "/bench/", "/plants/", "/crosses/", "/lots/", "/sowings/", "/rounds/",
    ],
)  # fmt: skip
def test_reading_writes_nothing(address, tansy, signed_in):
    """So that it neither waits for whoever writes nor breaks where nothing can be written."""
    make_plant(tansy)
    counted_sowing(tansy, 5, 20)
    client = signed_in(tansy)
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA query_only = ON")
        try:
            answer = client.get(address)
            text = answer.getvalue() if answer.streaming else answer.content
        finally:
            cursor.execute("PRAGMA query_only = OFF")
    assert answer.status_code == 200
    assert text
