"""Sowing and counting by script: the same acts, the same refusals, never twice."""

from typing import Any

import pytest

from crosses.base.visibility import Visibility
from seedbank.bank.models import Packet
from seedbank.sowings.models import Count, Sowing
from tests.factories.sowings import make_sowing, packet_in_hand

pytestmark = pytest.mark.django_db

SOWINGS = "/api/v1/sowings/"
KEY = {"Idempotency-Key": '"8e03978e-40d5-43dd-bc93-6894a57f9324"'}


@pytest.fixture
def script(tansy, with_key):
    return with_key(tansy, scope="log")


@pytest.fixture
def packet(tansy):
    return packet_in_hand(tansy)


def sowing_of(held: Packet, **facts: Any) -> dict[str, Any]:
    wanted = {
        "packet": held.number,
        "sown_on": "2026-05-01",
        "seeds_sown": 60,
        "replicate_seeds": [30, 30],
        "temperature_low_celsius": "12.5",
        "pretreatments": [{"kind": "cold", "days": 28, "temperature_celsius": 4}],
    }
    return wanted | facts


def test_a_sowing_is_kept_as_sent(script, tansy, packet):
    answer = script.post(SOWINGS, sowing_of(packet))
    assert answer.status_code == 201, answer.content
    told = answer.json()
    assert (told["seeds"], told["pots"], told["packet"]) == (60, 2, packet.number)
    assert told["pretreatments"][0]["days"] == 28
    sowing = Sowing.objects.get(number=told["sowing"])
    assert sowing.grower == tansy
    packet.refresh_from_db()
    assert packet.seeds_left == 60


def test_a_sowing_sent_twice_is_one_and_answers_the_same(script, packet):
    first = script.post(SOWINGS, sowing_of(packet), headers=KEY)
    second = script.post(SOWINGS, sowing_of(packet), headers=KEY)
    assert (second.status_code, second.json()) == (first.status_code, first.json())
    assert Sowing.objects.count() == 1


def test_a_key_sent_with_something_else_is_refused(script, packet):
    script.post(SOWINGS, sowing_of(packet), headers=KEY)
    other = sowing_of(packet, seeds_sown=20, replicate_seeds=[20])
    answer = script.post(SOWINGS, other, headers=KEY)
    assert (answer.status_code, answer.json()["code"]) == (422, "idempotency-key-used")
    assert Sowing.objects.count() == 1


def test_the_key_of_another_member_is_another_key(script, packet, cosmo, with_key):
    script.post(SOWINGS, sowing_of(packet, visibility="me"), headers=KEY)
    other = with_key(cosmo, scope="log")
    answer = other.post(SOWINGS, sowing_of(packet_in_hand(cosmo)), headers=KEY)
    assert answer.status_code == 201
    assert answer.json()["sowing"] == Sowing.objects.get(grower=cosmo).number


def test_a_write_without_a_key_is_refused_before_it_is_done(tansy, with_key, packet):
    script = with_key(tansy, scope="log")
    answer = script.post(SOWINGS, sowing_of(packet), headers={"Idempotency-Key": ""})
    assert (answer.status_code, answer.json()["code"]) == (400, "idempotency-key-missing")
    assert not Sowing.objects.exists()


def test_what_was_refused_may_be_put_right_under_the_same_key(script, packet):
    assert script.post(SOWINGS, sowing_of(packet, seeds_sown=500), headers=KEY).status_code == 409
    assert script.post(SOWINGS, sowing_of(packet), headers=KEY).status_code == 201


def test_a_word_nobody_knows_is_refused_and_not_passed_over(script, packet):
    answer = script.post(SOWINGS, sowing_of(packet, temperature_low=12))
    assert answer.json()["errors"] == {
        "temperature_low": ["Did you mean 'temperature_low_celsius'?"]
    }


@pytest.mark.parametrize(
    ("facts", "field", "status"),
    [
        ({"seeds_sown": 500, "replicate_seeds": [500]}, "seeds_sown", 409),
        ({"replicate_seeds": [30, 20]}, "replicate_seeds", 409),
        ({"sown_on": "2099-01-01"}, "sown_on", 409),
        ({"packet": "S000123-81"}, "packet", 400),
        ({"packet": "S000123-80"}, "packet", 400),
        ({"pretreatments": [{"kind": "prayer"}]}, "pretreatments", 400),
    ],
)
def test_what_cannot_be_sown_is_told_at_its_field(script, packet, facts, field, status):
    answer = script.post(SOWINGS, sowing_of(packet, **facts))
    assert answer.status_code == status, answer.content
    assert field in answer.json()["errors"]
    assert not Sowing.objects.exists()


def test_anothers_packet_is_not_sown(script, cosmo):
    answer = script.post(SOWINGS, sowing_of(packet_in_hand(cosmo)))
    assert answer.status_code == 409
    assert "not a packet you have in hand" in answer.json()["detail"]


def test_ones_own_sowings_are_listed_and_nobody_elses(script, tansy, cosmo):
    own = make_sowing(tansy, visibility=Visibility.ME, note="third shelf")
    make_sowing(cosmo)
    (row,) = script.get(SOWINGS).json()["results"]
    assert (row["sowing"], row["note"]) == (own.number, "third shelf")


def count_of(number: int, **facts: Any) -> dict[str, Any]:
    return {
        "counted_on": "2026-05-10",
        "number": number,
        "typed_as": "new",
    } | facts


@pytest.fixture
def counts(tansy):
    return f"{SOWINGS}{make_sowing(tansy).number}/counts/"


def test_a_count_is_kept_and_sent_twice_is_one(script, counts):
    first = script.post(counts, count_of(7), headers=KEY)
    assert first.status_code == 201, first.content
    assert script.post(counts, count_of(7), headers=KEY).json() == first.json()
    assert Count.objects.get().newly_seen == 7


def test_a_running_total_is_told_with_what_was_new(script, counts):
    script.post(counts, count_of(7))
    answer = script.post(counts, count_of(12, typed_as="total", counted_on="2026-05-15"))
    assert answer.json()["newly_seen"] == 5


def test_more_seedlings_than_seeds_are_refused_in_words(script, counts):
    answer = script.post(counts, count_of(121))
    assert answer.status_code == 409
    assert answer.json()["errors"]["number"] == [
        "121 seedlings would be more than the 120 seeds sown."
    ]


def test_of_several_pots_one_must_be_named(script, tansy):
    sowing = make_sowing(tansy, seeds_sown=60, replicate_seeds=[30, 30])
    address = f"{SOWINGS}{sowing.number}/counts/"
    answer = script.post(address, count_of(7))
    assert answer.json()["errors"]["pot"] == ["This sowing has the pots 1, 2: say which."]
    assert script.post(address, count_of(7, pot=3)).status_code == 400
    assert script.post(address, count_of(7, pot=2)).json()["pot"] == 2


def test_anothers_sowing_is_not_counted(cosmo, with_key, tansy, counts):
    other = with_key(cosmo, scope="log")
    assert other.post(counts, count_of(7)).status_code == 403
    hidden = make_sowing(tansy, visibility=Visibility.ME)
    assert other.post(f"{SOWINGS}{hidden.number}/counts/", count_of(7)).status_code == 404
    assert not Count.objects.exists()


def test_a_key_that_only_reads_does_not_count(tansy, with_key, counts):
    assert with_key(tansy).post(counts, count_of(7)).status_code == 403
    assert not Count.objects.exists()


def test_a_page_signed_in_needs_its_token_against_forgery(tansy, counts):
    from rest_framework.test import APIClient

    client = APIClient(enforce_csrf_checks=True)
    client.force_login(tansy)
    assert client.post(counts, count_of(7), headers=KEY).status_code == 403
