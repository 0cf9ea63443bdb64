"""The exchange by script: wishes, results and parcels of one's own; donations; a keeper's lines."""

import json

import pytest

from seedbank.bank.models import DonationLine, Packet
from seedbank.exchange.models import ListLine, WishList
from tests.api.conftest import in_true_numbers
from tests.factories.bank import LotFactory, PlaceFactory, packets_of
from tests.factories.exchange import (
    OPENS,
    announced,
    listed_round,
    make_round,
    stored_lot,
    wish,
)
from tests.factories.members import AddressFactory

pytestmark = pytest.mark.django_db

ROOT = "/api/v1/"


@pytest.fixture
def at_opening(time_machine):
    time_machine.move_to(OPENS, tick=False)


@pytest.fixture
def round_open(at_opening, ignatius):
    return listed_round(ignatius, *(stored_lot(f"Primula veris {n}") for n in range(4)))


def put(script, address: str, body, version: str | None = None):
    headers = {"If-Match": script.get(address)["ETag"] if version is None else version}
    return script.put(address, body, headers=headers)


def test_wishes_are_read_put_and_taken_back(rollo, with_key, round_open):
    script = with_key(rollo, scope="log")
    address = f"{ROOT}rounds/{round_open.slug}/wishes/"
    assert script.get(address).json()["main"] == []
    answer = put(script, address, {"main": [3, 1], "reserve": [2]})
    assert answer.status_code == 200, answer.content
    assert (answer.json()["main"], answer.json()["reserve"]) == ([3, 1], [2])
    assert answer["ETag"] == script.get(address)["ETag"]
    assert script.delete(address).status_code == 204
    assert script.get(address).json()["main"] == []


def test_wishes_saved_elsewhere_meanwhile_are_not_written_over(rollo, with_key, round_open):
    script = with_key(rollo, scope="log")
    address = f"{ROOT}rounds/{round_open.slug}/wishes/"
    before = script.get(address)["ETag"]
    wish(round_open, rollo, 1)
    assert put(script, address, {"main": [2]}, before).status_code == 412
    assert script.get(address).json()["main"] == [1]


def test_wishes_after_closing_are_refused_in_words(rollo, with_key, round_open, time_machine):
    script = with_key(rollo, scope="log")
    address = f"{ROOT}rounds/{round_open.slug}/wishes/"
    version = script.get(address)["ETag"]
    time_machine.move_to(round_open.wishes_close_at, tick=False)
    assert script.get(address).json()["takes_wishes"] is False
    answer = put(with_key(rollo, scope="log"), address, {"main": [2]})
    assert (answer.status_code, answer.json()["code"]) == (409, "wishes-closed")
    assert version
    assert not WishList.objects.exists()


def test_an_unknown_line_is_told_at_its_field(rollo, with_key, round_open):
    address = f"{ROOT}rounds/{round_open.slug}/wishes/"
    answer = put(with_key(rollo, scope="log"), address, {"main": [77]})
    assert answer.status_code == 409
    assert answer.json()["errors"] == {"main": ["There is no line 77 on this list."]}


def test_wishes_are_nobodys_but_ones_own(rollo, tansy, ignatius, with_key, round_open):
    wish(round_open, rollo, 1)
    address = f"{ROOT}rounds/{round_open.slug}/wishes/"
    for member in (tansy, ignatius):
        assert with_key(member, scope="keep").get(address).json()["main"] == []


@pytest.fixture
def shared_out(ignatius, rollo, tansy, round_open):
    AddressFactory(member=rollo, lines="1 Bogle Lane")
    wish(round_open, rollo, 1, 2)
    wish(round_open, tansy, 1)
    return announced(round_open, ignatius)


def test_a_result_and_a_parcel_are_told_to_whom_they_are_for(
    shared_out, rollo, wilhelmina, hettie, ignatius, with_key
):
    script = with_key(rollo)
    result = script.get(f"{ROOT}rounds/{shared_out.slug}/result/").json()
    assert [reason["line"] for reason in result["reasons"]] == ["1", "2"]
    assert all(reason["sentence"] for reason in result["reasons"])
    (parcel,) = script.get(f"{ROOT}parcels/").json()["results"]
    assert len(parcel["packets"]) == result["packets"] > 0
    assert "Bogle" not in json.dumps(parcel)
    one = f"{ROOT}parcels/{parcel['number']}/"
    assert script.get(one).json() == parcel
    for other in (wilhelmina, hettie, ignatius):
        assert with_key(other, scope="keep").get(f"{ROOT}parcels/").json()["results"] == []
        assert with_key(other, scope="keep").get(one).status_code == 404
    assert with_key(wilhelmina).get(f"{ROOT}rounds/{shared_out.slug}/result/").status_code == 404


def test_the_whole_sharing_out_is_told_once_it_is_announced(shared_out, wilhelmina, with_key):
    told = with_key(wilhelmina).get(f"{ROOT}rounds/{shared_out.slug}/sharing-out/").json()
    assert told["packets"] == 3
    assert told["first_choices"] == {"met": 2, "of": 2}


def test_before_it_is_announced_nobody_reads_a_result(rollo, ignatius, with_key, round_open):
    for member in (rollo, ignatius):
        answer = with_key(member).get(f"{ROOT}rounds/{round_open.slug}/sharing-out/")
        assert answer.status_code == 403


def test_a_round_tells_its_rules_and_stage(wilhelmina, with_key, round_open):
    (told,) = with_key(wilhelmina).get(f"{ROOT}rounds/").json()["results"]
    assert (told["round"], told["stage"]) == (round_open.slug, "wishing")
    assert told["draw_commitment"]
    assert "secret" not in json.dumps(told)


def test_a_donation_is_offered_and_answered_by_script(cosmo, ignatius, with_key):
    lot = in_true_numbers(LotFactory(raised_by=cosmo, owner=cosmo))
    packets_of(lot, 3)
    offered = with_key(cosmo, scope="log").post(
        f"{ROOT}donations/", {"lines": [{"lot": lot.number, "packets": 2}]}
    )
    assert offered.status_code == 201, offered.content
    number = offered.json()["number"]
    place = PlaceFactory(owner=None, code="A-01")
    address = f"{ROOT}donations/{number}/lines/{lot.number}/answer/"
    body = {"answer": "accepted", "packets_received": 2, "place": place.code}
    assert with_key(cosmo, scope="keep").post(address, body).status_code == 403
    assert with_key(ignatius, scope="log").post(address, body).status_code == 403
    answer = with_key(ignatius, scope="keep").post(address, body)
    assert answer.status_code == 200, answer.content
    assert answer.json()["lines"][0]["answer"] == "accepted"
    assert Packet.objects.filter(place=place).count() == 2


def test_donations_of_others_are_for_a_keepers_key(cosmo, ignatius, wilhelmina, with_key):
    lot = in_true_numbers(LotFactory(raised_by=cosmo, owner=cosmo))
    packets_of(lot, 1)
    with_key(cosmo, scope="log").post(
        f"{ROOT}donations/", {"lines": [{"lot": lot.number, "packets": 1}]}
    )
    seen = {
        (member.name, scope): len(
            with_key(member, scope=scope).get(f"{ROOT}donations/").json()["results"]
        )
        for member, scope in [
            (cosmo, "read"),
            (ignatius, "read"),
            (ignatius, "keep"),
            (wilhelmina, "keep"),
        ]
    }
    assert list(seen.values()) == [1, 0, 1, 0]
    assert DonationLine.objects.get().answer == "waiting"


def test_a_keeper_lists_changes_and_withdraws_a_line(at_opening, ignatius, wilhelmina, with_key):
    found = make_round(ignatius)
    address = f"{ROOT}rounds/{found.slug}/lines/"
    lot = in_true_numbers(stored_lot("Primula veris"))
    assert with_key(wilhelmina, scope="keep").post(address, {"lot": lot.number}).status_code == 403
    script = with_key(ignatius, scope="keep")
    made = script.post(address, {"lot": lot.number})
    assert made.status_code == 201, made.content
    one = f"{address}{made.json()['line']}/"
    body = {"description": "Short and sweet", "packets_kept_back": 1}
    version = script.get(one)["ETag"]
    assert script.patch(one, body, headers={"If-Match": version}).status_code == 200
    gone = script.patch(one, {"withdrawn": "mouldy"}, headers={"If-Match": script.get(one)["ETag"]})
    assert gone.json()["withdrawn"] == "mouldy"
    line = ListLine.objects.get()
    assert (line.description, line.kept_back) == ("Short and sweet", 1)
