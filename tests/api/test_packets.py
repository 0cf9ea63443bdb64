"""Packets, and the chain of one: from the flower to the last count, as far as one may see."""

import json

import pytest

from crosses.base.visibility import Visibility
from tests.api.conftest import lot_of_cross
from tests.factories.bank import LotFactory, packets_of
from tests.factories.sowings import counted_sowing, make_sowing

pytestmark = pytest.mark.django_db

ADDRESS = "/api/v1/packets/"


def chain(script, packet):
    answer = script.get(f"{ADDRESS}{packet.number}/")
    assert answer.status_code == 200, answer.content
    return answer.json()


def test_the_chain_runs_from_the_flower_to_the_last_count(wilhelmina, with_key, lemon_sowing):
    told = chain(with_key(wilhelmina), lemon_sowing.packet)
    assert [parent["role"] for parent in told["parents"]] == ["seed parent", "pollen parent"]
    assert told["cross"]["season"] == 2025
    (flower,) = told["pollinations"]
    assert flower["pollinated_on"] == "2025-04-12"
    assert [check["kind"] for check in flower["checks"]] == ["swelling"]
    assert told["harvest"]["seeds"] == 400
    assert told["lot"] == lemon_sowing.packet.lot.number
    assert [movement["step"] for movement in told["movements"]] == [1, 2]
    (sowing,) = told["sowings"]
    assert sowing["counts"][-1]["total"] == 78
    assert sowing["share"]["n"] == 120


def test_a_sowing_without_a_look_has_no_share_in_the_chain(wilhelmina, with_key, tansy):
    sowing = make_sowing(tansy)
    (told,) = chain(with_key(wilhelmina), sowing.packet)["sowings"]
    assert told["share"] is None


def test_the_chain_keeps_a_private_cross_to_its_grower(wilhelmina, tansy, with_key):
    lot = lot_of_cross(tansy, visibility=Visibility.ME)
    lot.visibility = Visibility.SOCIETY
    lot.save()
    packet = packets_of(lot)[0]
    told = chain(with_key(wilhelmina), packet)
    assert told["is_private_cross"] is True
    assert told["cross"] is None
    assert told["harvest"] is None
    assert told["pollinations"] == []
    assert chain(with_key(tansy), packet)["cross"]["number"] == lot.harvest.cross.number


def test_the_chain_leaves_out_anothers_private_sowing(
    wilhelmina, tansy, with_key, lemon_sowing, private_sowing
):
    assert chain(with_key(wilhelmina), private_sowing.packet)["sowings"] == []
    assert len(chain(with_key(tansy), private_sowing.packet)["sowings"]) == 1


def test_no_person_is_in_the_chain(wilhelmina, with_key, tansy, lemon_sowing):
    written = json.dumps(chain(with_key(wilhelmina), lemon_sowing.packet))
    assert "Tansy" not in written
    assert tansy.email not in written


def test_a_packet_of_a_private_lot_is_nowhere(wilhelmina, tansy, with_key):
    packet = packets_of(LotFactory(raised_by=tansy, visibility=Visibility.ME))[0]
    script = with_key(wilhelmina)
    assert script.get(f"{ADDRESS}{packet.number}/").status_code == 404
    assert script.get(ADDRESS).json()["results"] == []
    assert len(with_key(tansy).get(ADDRESS).json()["results"]) == 1


def test_a_mistyped_number_is_told_in_words(wilhelmina, with_key):
    answer = with_key(wilhelmina).get(f"{ADDRESS}S000123-81/")
    assert answer.status_code == 400
    assert "mistyped" in answer.json()["errors"]["number"][0]


def test_packets_are_narrowed_by_lot_state_and_whose(wilhelmina, tansy, with_key, lemon_sowing):
    other = packets_of(LotFactory(raised_by=tansy))[0]
    script = with_key(tansy)

    def found(**filters: str) -> set[str]:
        return {row["number"] for row in script.get(ADDRESS, filters).json()["results"]}

    assert found(lot=lemon_sowing.packet.lot.number) == {lemon_sowing.packet.number}
    assert found(state="with_member") == {other.number}
    assert found(is_mine="true") >= {other.number}
    assert (
        other.number not in with_key(wilhelmina).get(ADDRESS, {"is_mine": "true"}).content.decode()
    )


def test_more_packets_and_counts_cost_no_more_queries(
    wilhelmina, with_key, tansy, lemon_lot, django_assert_max_num_queries
):
    script = with_key(wilhelmina)
    script.get("/api/v1/me/")
    for _ in range(2):
        for _ in range(3):
            sowing = counted_sowing(tansy, 5, 10, lot=lemon_lot)
        with django_assert_max_num_queries(11):
            script.get(ADDRESS)
        with django_assert_max_num_queries(29):
            chain(script, sowing.packet)
