"""Closing a parcel once everything in it is checked, and posting it."""

import datetime

import pytest

from crosses.base.refusal import Refused
from crosses.models import DestinationFlag
from seedbank.bank.models import CautionRule, Packet
from seedbank.exchange.actions.picking import scan, short_item, take_in_hand
from seedbank.exchange.actions.posting import (
    cancel_parcel,
    close_parcel,
    post_parcel,
    reopen_parcel,
)
from seedbank.exchange.models import ParcelItem, WishList
from tests.factories.bank import PlaceFactory
from tests.factories.exchange import (
    AFTER,
    announced,
    listed_round,
    parcel_of,
    stored_lot,
    wish,
)
from tests.factories.members import AddressFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("after_closing")]


@pytest.fixture
def parcel(ignatius, tansy, hettie):
    """Tansy's parcel of two packets, in Hettie's hand."""
    found = listed_round(ignatius, stored_lot("Primula a", 1), stored_lot("Primula b", 1))
    wish(found, tansy, 1, 2)
    return take_in_hand(parcel=parcel_of(announced(found, ignatius), tansy), by=hettie, at=AFTER)


def _pack(parcel, packer, *line_numbers):
    for item in ParcelItem.objects.filter(parcel=parcel, line__line_number__in=line_numbers):
        scan(parcel=parcel, number=item.packet.number, by=packer, at=AFTER)


def _states():
    return sorted(Packet.objects.values_list("state", flat=True))


def test_a_parcel_with_an_unchecked_packet_stays_open_and_says_which(parcel, hettie):
    _pack(parcel, hettie, 1)
    left = ParcelItem.objects.get(parcel=parcel, line__line_number=2)
    with pytest.raises(Refused, match=f"Not in the parcel yet: {left.packet.number}"):
        close_parcel(parcel=parcel, by=hettie, at=AFTER)


def test_a_parcel_is_closed_when_every_packet_is_in_or_given_up(parcel, hettie):
    _pack(parcel, hettie, 1)
    item = ParcelItem.objects.get(parcel=parcel, line__line_number=2)
    short_item(item=item, by=hettie, at=AFTER, reason="mouldy")
    assert close_parcel(parcel=parcel, by=hettie, at=AFTER).closed_by == hettie


def test_an_empty_parcel_is_cancelled_and_not_closed(parcel, hettie):
    for item in ParcelItem.objects.filter(parcel=parcel):
        short_item(item=item, by=hettie, at=AFTER, reason="mouldy")
    with pytest.raises(Refused, match="nothing in this parcel"):
        close_parcel(parcel=parcel, by=hettie, at=AFTER)


def test_nothing_goes_into_a_closed_parcel(parcel, hettie):
    _pack(parcel, hettie, 1, 2)
    close_parcel(parcel=parcel, by=hettie, at=AFTER)
    with pytest.raises(Refused, match="closed"):
        scan(parcel=parcel, number="S000001-80", by=hettie, at=AFTER)


def test_a_closed_parcel_is_opened_again_until_it_is_posted(parcel, hettie):
    _pack(parcel, hettie, 1, 2)
    close_parcel(parcel=parcel, by=hettie, at=AFTER)
    assert reopen_parcel(parcel=parcel, by=hettie, at=AFTER).closed_at is None
    close_parcel(parcel=parcel, by=hettie, at=AFTER)
    post_parcel(parcel=parcel, by=hettie, at=AFTER, posted_on=AFTER.date())
    with pytest.raises(Refused, match="not posted yet"):
        reopen_parcel(parcel=parcel, by=hettie, at=AFTER)


def test_posting_sends_every_packet_to_the_member(parcel, hettie, tansy):
    _pack(parcel, hettie, 1, 2)
    close_parcel(parcel=parcel, by=hettie, at=AFTER)
    post_parcel(
        parcel=parcel,
        by=hettie,
        at=AFTER,
        posted_on=AFTER.date(),
        weight_grams=64,
        postage_text="letter",
    )
    for packet in Packet.objects.all():
        assert (packet.state, packet.holder, packet.place) == ("sent", tansy, None)
        assert packet.movements.latest("step").reference == parcel.number


def test_an_open_parcel_is_not_posted_nor_a_posted_one_posted_again(parcel, hettie):
    with pytest.raises(Refused, match="Close the parcel"):
        post_parcel(parcel=parcel, by=hettie, at=AFTER, posted_on=AFTER.date())
    _pack(parcel, hettie, 1, 2)
    close_parcel(parcel=parcel, by=hettie, at=AFTER)
    post_parcel(parcel=parcel, by=hettie, at=AFTER, posted_on=AFTER.date())
    with pytest.raises(Refused, match="already"):
        post_parcel(parcel=parcel, by=hettie, at=AFTER, posted_on=AFTER.date())


def test_a_cancelled_parcel_gives_everything_back_and_takes_the_member_out(
    parcel, hettie, ignatius
):
    _pack(parcel, hettie, 1)
    cancel_parcel(parcel=parcel, by=ignatius, at=AFTER, reason="moved away")
    assert _states() == ["in_store", "in_store"]
    assert WishList.objects.get().cancelled_at == AFTER
    assert set(ParcelItem.objects.values_list("released_reason", flat=True)) == {"moved away"}


def test_a_parcel_is_packed_closed_and_posted_on_its_page(parcel, hettie, signed_in):
    client, page = signed_in(hettie), f"/parcels/{parcel.number}/"
    assert "Not in the parcel yet" in client.post(f"{page}close/", follow=True).content.decode()
    _pack(parcel, hettie, 1, 2)
    client.post(f"{page}close/")
    tomorrow = AFTER.date() + datetime.timedelta(days=1)
    answer = client.post(f"{page}post/", {"posted_on": tomorrow}, follow=True)
    assert "That day has not come yet." in answer.content.decode()
    client.post(f"{page}post/", {"posted_on": AFTER.date(), "weight_grams": 64})
    parcel.refresh_from_db()
    assert (parcel.posted_on, parcel.weight_grams) == (AFTER.date(), 64)


def test_only_the_keeper_cancels_a_parcel(parcel, hettie, ignatius, signed_in):
    page = f"/parcels/{parcel.number}/cancel/"
    assert signed_in(hettie).post(page, {"reason": "x"}).status_code == 403
    assert signed_in(ignatius).post(page, {"reason": ""}).context["form"].errors["reason"]
    signed_in(ignatius).post(page, {"reason": "moved away"})
    parcel.refresh_from_db()
    assert parcel.cancelled_reason == "moved away"


def test_a_posted_parcels_address_is_out_of_its_packers_hands(parcel, hettie, signed_in, tansy):
    AddressFactory(member=tansy, lines="1 Nowhere Row")
    _pack(parcel, hettie, 1, 2)
    close_parcel(parcel=parcel, by=hettie, at=AFTER)
    client, page = signed_in(hettie), f"/parcels/{parcel.number}/"
    assert "Nowhere Row" in client.get(page).content.decode()
    post_parcel(parcel=parcel, by=hettie, at=AFTER, posted_on=AFTER.date())
    assert "Nowhere Row" not in client.get(page).content.decode()


def test_the_papers_of_a_parcel_name_rule_source_and_packets_and_never_clear_it(
    ignatius, rollo, hettie, signed_in
):
    found = listed_round(ignatius, stored_lot("Primula a", 1), stored_lot("Lewisia b", 1))
    wish(found, rollo, 1, 2)
    parcel = parcel_of(announced(found, ignatius), rollo)
    rules = {"source": "invented source", "checked_on": AFTER.date(), "checked_by": "S.U."}
    DestinationFlag.objects.create(
        genus="Lewisia",
        country="AU",
        kind="quarantine",
        words="full parentage on the packet",
        **rules,
    )
    DestinationFlag.objects.create(
        genus="Lewisia", country="NZ", kind="barred", words="of another country", **rules
    )
    CautionRule.objects.all().delete()
    page = signed_in(hettie).get(f"/parcels/{parcel.number}/").content.decode()
    lewisia = ParcelItem.objects.get(line__lot__name_text="Lewisia b").packet
    for words in (
        "full parentage",
        "invented source",
        "28 May 2026 by S.U.",
        f"{lewisia.number} · invented source",
    ):
        assert words in page
    assert "of another country" not in page
    assert "not legal advice" in page
    assert "allowed" not in page


def test_a_parcel_that_meets_no_rule_is_not_called_cleared(parcel, hettie, signed_in):
    page = signed_in(hettie).get(f"/parcels/{parcel.number}/").content.decode()
    assert "No rule in this list matched" in page
    assert "must check with the plant health authority" in page


@pytest.fixture
def sent(parcel, hettie, tansy):
    """A packet that has come to Tansy by post."""
    _pack(parcel, hettie, 1, 2)
    close_parcel(parcel=parcel, by=hettie, at=AFTER)
    post_parcel(parcel=parcel, by=hettie, at=AFTER, posted_on=AFTER.date())
    return Packet.objects.filter(holder=tansy).first()


def test_the_recipient_puts_a_sent_packet_away_at_home_and_it_still_counts_as_sent(
    sent, tansy, signed_in
):
    drawer = PlaceFactory(owner=tansy, code="D-1")
    signed_in(tansy).post("/store/", {"packets": sent.number, "place": "D-1"})
    sent.refresh_from_db()
    assert (sent.state, sent.place, sent.holder) == ("sent", drawer, tansy)


def test_the_recipient_splits_and_discards_a_sent_packet(sent, tansy, signed_in):
    client, page = signed_in(tansy), f"/packets/{sent.number}/"
    assert "Discard" in client.get(page).content.decode()
    client.post(f"{page}split/", {"parts": "10, 15"})
    parts = Packet.objects.filter(split_from=sent)
    assert {(part.state, part.holder) for part in parts} == {("with_member", tansy)}
    other = Packet.objects.get(state="sent")
    client.post(f"/packets/{other.number}/discard/", {"why": "mouldy when it came"})
    other.refresh_from_db()
    assert other.state == "discarded"


def test_nobody_but_the_recipient_lays_hands_on_a_sent_packet(sent, cosmo, ignatius, signed_in):
    for member in (cosmo, ignatius):
        page = f"/packets/{sent.number}/discard/"
        assert signed_in(member).post(page, {"why": "x"}).status_code == 403
