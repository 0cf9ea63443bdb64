"""Close a sowing, wait on, or withdraw it: what was left is kept, what was sown stays gone."""

import datetime

import pytest

from crosses.base.refusal import Refused
from seedbank.sowings.actions.sowing import close_sowing, reopen_sowing, withdraw_sowing
from seedbank.sowings.queries import germination_of_lots
from tests.conftest import TODAY
from tests.factories.sowings import SOWN_ON, count_pot, make_sowing, packet_in_hand, pot_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def sowing(tansy):
    """Twenty seeds, of which twelve came up by the twentieth day."""
    sowing = make_sowing(tansy, packet_in_hand(tansy, seeds=20))
    count_pot(pot_of(sowing), 20, 12)
    return sowing


@pytest.fixture
def close(sowing, tansy, at):
    def do(**facts):
        wanted = {"closed_on": TODAY, "reason": "pot thrown out"} | facts
        return close_sowing(sowing=sowing, by=tansy, at=at, **wanted)

    return do


def test_what_was_left_is_kept_with_the_reason(close, tansy):
    closed = close(left_fresh=5, left_dead=3, left_abnormal=12)
    assert (closed.closed_on, closed.closed_reason) == (TODAY, "pot thrown out")
    assert (closed.left_fresh, closed.left_dead, closed.left_abnormal) == (5, 3, 12)
    assert closed.history.first().history_user == tansy


@pytest.mark.parametrize(
    ("facts", "words", "field"),
    [
        (
            {"left_fresh": 5, "left_dead": 4},
            "9 seeds left, but only 8 did not come up",
            "left_dead",
        ),
        ({"left_abnormal": 13}, "only 12 came up", "left_abnormal"),
        ({"closed_on": TODAY + datetime.timedelta(days=1)}, "still to come", "closed_on"),
        ({"closed_on": SOWN_ON + datetime.timedelta(days=19)}, "counted on 30 April", "closed_on"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(close, facts, words, field):
    with pytest.raises(Refused, match=words) as no:
        close(**facts)
    assert no.value.field == field


def test_a_sowing_nobody_looked_at_is_not_closed_before_it_was_sown(tansy, at):
    sowing = make_sowing(tansy)
    with pytest.raises(Refused, match="before it was sown"):
        close_sowing(sowing=sowing, by=tansy, at=at, closed_on=SOWN_ON - datetime.timedelta(days=1))


def test_it_is_closed_once(close):
    close()
    with pytest.raises(Refused, match="closed already"):
        close()


def test_waiting_on_forgets_what_was_left_and_says_why_in_the_history(sowing, close, tansy, at):
    close(left_dead=8)
    with pytest.raises(Refused, match="Say why"):
        reopen_sowing(sowing=sowing, by=tansy, why=" ")
    opened = reopen_sowing(sowing=sowing, by=tansy, why="chilled a second time")
    assert (opened.closed_on, opened.left_dead) == (None, None)
    assert opened.history.first().history_change_reason == "chilled a second time"
    count_pot(pot_of(opened), 35, 5)
    assert pot_of(opened).germinated == 17


def test_an_open_sowing_is_not_opened_again(sowing, tansy):
    with pytest.raises(Refused, match="is open"):
        reopen_sowing(sowing=sowing, by=tansy, why="no reason")


def test_a_withdrawn_sowing_counts_nowhere_and_its_seed_stays_gone(sowing, tansy, at):
    lot = sowing.packet.lot_id
    assert lot in germination_of_lots([lot], tansy)
    withdraw_sowing(sowing=sowing, by=tansy, at=at, reason="wrong packet")
    assert germination_of_lots([lot], tansy) == {}
    sowing.packet.refresh_from_db()
    assert sowing.packet.seeds_left == 0


# The pages


def test_the_pages_close_and_open_again(sowing, tansy, signed_in):
    client, path = signed_in(tansy), f"/sowings/{sowing.number}"
    typed = {
        "closed_on": "2026-05-20",
        "reason": "nothing more",
        "left_fresh": "0",
        "left_dead": "8",
    }
    page = client.post(f"{path}/close/", typed, follow=True).text
    assert "closed 20 May 2026" in page
    assert "8 dead" in page
    assert "waiting, not failed" not in page
    page = client.post(f"{path}/reopen/", {"why": "a second winter"}, follow=True).text
    assert "closed 20 May 2026" not in page
    assert "waiting, not failed" in page


def test_a_refused_closing_keeps_what_was_typed(sowing, tansy, signed_in):
    typed = {"closed_on": "2026-05-20", "reason": "nothing more", "left_dead": "9"}
    answer = signed_in(tansy).post(f"/sowings/{sowing.number}/close/", typed)
    assert answer.status_code == 422
    assert "only 8 did not come up" in answer.text
    assert 'value="nothing more"' in answer.text
    sowing.refresh_from_db()
    assert sowing.closed_on is None


@pytest.mark.parametrize("act", ["close", "reopen", "withdraw", "counts", "seedlings"])
def test_only_its_grower_writes_about_it(sowing, cosmo, ignatius, signed_in, act):
    for other in (cosmo, ignatius):
        assert signed_in(other).get(f"/sowings/{sowing.number}/{act}/").status_code == 403


@pytest.mark.parametrize("act", ["", "close/", "reopen/", "withdraw/", "counts/", "seedlings/"])
def test_a_private_or_withdrawn_sowing_is_not_there_for_others(
    tansy, cosmo, ignatius, at, signed_in, act
):
    private = make_sowing(tansy, visibility="me")
    withdrawn = make_sowing(tansy)
    withdraw_sowing(sowing=withdrawn, by=tansy, at=at, reason="written twice")
    for sowing, readers in ((private, (cosmo, ignatius)), (withdrawn, (cosmo, tansy))):
        for reader in readers:
            assert signed_in(reader).get(f"/sowings/{sowing.number}/{act}").status_code == 404


def test_the_page_withdraws_with_a_reason_only(sowing, tansy, signed_in):
    client, path = signed_in(tansy), f"/sowings/{sowing.number}/withdraw/"
    assert client.post(path, {"reason": ""}).status_code == 422
    page = client.post(path, {"reason": "wrong packet"}, follow=True).text
    assert "counts nowhere any more" in page
    assert client.get(f"/sowings/{sowing.number}/").status_code == 404
