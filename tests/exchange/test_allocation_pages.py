"""The keeper's desk for sharing out, and the result as keepers and members read it."""

import hashlib

import pytest

from seedbank.exchange.actions.allocation import announce
from seedbank.exchange.models import AllocationRun
from tests.factories.bank import packets_of
from tests.factories.exchange import AFTER, announced, line, share_out, wish
from tests.factories.members import MemberFactory

pytestmark = pytest.mark.django_db


def test_the_keeper_freezes_draws_and_announces_on_the_desk(
    found, three, ignatius, signed_in, after_closing
):
    client, desk = signed_in(ignatius), f"/rounds/{found.slug}/sharing/"
    assert "What would be short" in client.get(desk).content.decode()
    client.post(f"{desk}freeze/")
    empty = client.post(f"{desk}run/", {"public_value": ""})
    assert empty.context["value_form"].errors["public_value"]
    assert (
        client.post(f"{desk}run/", {"public_value": "4 8 15"}).url
        == f"/rounds/{found.slug}/result/"
    )
    assert "Share out again" in client.get(desk).content.decode()
    client.post(f"{desk}announce/")
    found.refresh_from_db()
    assert found.is_announced
    packets_of(line(found, 1).lot, 1)
    client.post(f"{desk}again/", {"why": "late donation"})
    assert AllocationRun.objects.latest("position").kind == "top_up"


def test_members_read_their_result_only_once_it_is_announced(
    found, three, ignatius, signed_in, after_closing
):
    share_out(found, ignatius)
    client = signed_in(three[0])
    for page in ("result/", "result/mine/", "result/inputs.json"):
        assert client.get(f"/rounds/{found.slug}/{page}").status_code == 403
    assert signed_in(ignatius).get(f"/rounds/{found.slug}/result/").status_code == 200
    announce(round=found, by=ignatius, at=AFTER)
    for page in ("result/", "result/mine/", "result/inputs.json"):
        assert client.get(f"/rounds/{found.slug}/{page}").status_code == 200


def test_every_wish_of_a_member_has_one_reason(found, three, ignatius, signed_in, after_closing):
    announced(found, ignatius)
    pages = [signed_in(member).get(f"/rounds/{found.slug}/result/mine/") for member in three]
    for page in pages:
        assert [reason.rank for reason in page.context["mine"].reasons] == [1, 2, 3]
        assert "Lottery number" in page.content.decode()
    told = [page.context["mine"].reasons[0] for page in pages]
    assert sorted(reason.code for reason in told) == ["GONE", "GONE", "GOT"]
    gone = next(reason for reason in told if reason.code == "GONE")
    assert gone.sentence.startswith("1 packet, 3 main wishes. The last went in pass 1, turn 1.")


def test_no_member_is_named_in_anothers_result(found, three, ignatius, signed_in, after_closing):
    announced(found, ignatius)
    page = signed_in(three[0]).get(f"/rounds/{found.slug}/result/mine/").content.decode()
    for other in three[1:]:
        assert other.name not in page
        assert other.number not in page


def test_who_sent_no_wishes_is_told_so(found, three, tansy, ignatius, signed_in, after_closing):
    announced(found, ignatius)
    page = signed_in(tansy).get(f"/rounds/{found.slug}/result/mine/").content.decode()
    assert "You sent no wishes" in page


def test_the_downloads_are_the_very_bytes_of_the_run(
    found, three, ignatius, signed_in, after_closing
):
    announced(found, ignatius)
    run = AllocationRun.objects.get()
    client = signed_in(three[0])
    inputs = client.get(f"/rounds/{found.slug}/result/inputs.json").content
    assert inputs == run.inputs.encode()
    assert hashlib.sha256(inputs).hexdigest() == run.inputs_digest
    assert client.get(f"/rounds/{found.slug}/result/else.json").status_code == 404


def test_the_secret_is_revealed_with_the_result(found, three, ignatius, signed_in, after_closing):
    found = announced(found, ignatius)
    page = signed_in(three[0]).get(f"/rounds/{found.slug}/result/").content.decode()
    assert found.draw_secret in page


def test_the_keeper_compares_the_policies_on_the_same_wishes(
    found, three, ignatius, signed_in, after_closing
):
    announced(found, ignatius)
    answer = signed_in(ignatius).get(f"/rounds/{found.slug}/result/?compare")
    assert [row.policy for row in answer.context["compared"]] == ["turns", "straight", "even"]
    assert (
        signed_in(three[0]).get(f"/rounds/{found.slug}/result/?compare").context["compared"] is None
    )


def test_the_keeper_answers_why_a_member_did_not_get_it(
    found, three, ignatius, hettie, signed_in, after_closing
):
    announced(found, ignatius)
    address = f"/rounds/{found.slug}/result/of/{three[0].number}/"
    assert three[0].name in signed_in(ignatius).get(address).content.decode()
    assert signed_in(hettie).get(address).status_code == 403


def test_only_the_keeper_shares_out(found, three, hettie, signed_in, after_closing):
    client, desk = signed_in(hettie), f"/rounds/{found.slug}/sharing/"
    assert client.get(desk).status_code == 403
    for act in ("freeze/", "run/", "again/", "announce/"):
        assert client.post(f"{desk}{act}", {"public_value": "1", "why": "x"}).status_code == 403
    assert not AllocationRun.objects.exists()


@pytest.mark.parametrize("members", [2, 8])
def test_the_result_page_costs_no_more_for_more_members(
    members, found, ignatius, signed_in, after_closing, django_assert_max_num_queries
):
    for member in MemberFactory.create_batch(members):
        wish(found, member, 1, 2)
    announced(found, ignatius)
    client = signed_in(ignatius)
    with django_assert_max_num_queries(14):
        client.get(f"/rounds/{found.slug}/result/")


def test_the_keeper_tries_a_draw_that_is_not_the_real_one(
    found, three, ignatius, signed_in, at_noon
):
    page = signed_in(ignatius).get(f"/rounds/{found.slug}/sharing/?trial")
    assert [row.policy for row in page.context["trial"]] == ["turns", "straight", "even"]
    assert "not the real one" in page.content.decode()
    assert not AllocationRun.objects.exists()
