"""Seed found mouldy after the result is out: it leaves the parcels, and whoever was given it hears of it."""

import pytest
from django.core import mail
from django.urls import reverse

from crosses.base.refusal import Refused
from seedbank.bank.actions.packet import discard
from seedbank.bank.models import Packet
from seedbank.exchange.actions.allocation import top_up
from seedbank.exchange.actions.listing import withdraw_line
from seedbank.exchange.actions.picking import release_item, scan, take_in_hand
from seedbank.exchange.actions.posting import close_parcel, post_parcel
from seedbank.exchange.models import ParcelItem
from tests.factories.exchange import (
    A_DAY,
    AFTER,
    announced,
    line,
    listed_round,
    parcel_of,
    stored_lot,
    wish,
)
from tests.factories.members import AddressFactory, MemberFactory

pytestmark = pytest.mark.django_db
LATER = AFTER + A_DAY


@pytest.fixture
def people():
    members = MemberFactory.create_batch(4)
    for member in members:
        AddressFactory(member=member)
    return members


@pytest.fixture
def found(ignatius, people):
    """Four members with a packet of line 1 each; line 2 is there for whoever is owed."""
    found = listed_round(
        ignatius, stored_lot("Primula a", 5), stored_lot("Primula b", 5), allowance=1
    )
    for member in people:
        wish(found, member, 1, reserve=(2,))
    return announced(found, ignatius)


def packed(found, member, by):
    parcel = take_in_hand(parcel=parcel_of(found, member), by=by, at=AFTER)
    for item in parcel.items.filter(released_at=None):
        scan(parcel=parcel, number=item.packet.number, by=by, at=AFTER)
    return parcel


def closed(found, member, by):
    parcel = packed(found, member, by)
    return close_parcel(parcel=parcel, by=by, at=AFTER)


def living(found):
    return ParcelItem.objects.filter(parcel__round=found, line__line_number=1, released_at=None)


def test_it_leaves_every_parcel_that_is_not_posted_whatever_was_done_with_it(
    found, people, hettie, ignatius, django_capture_on_commit_callbacks
):
    _waiting, in_hand, sealed, gone = people
    packed(found, in_hand, hettie)
    closed(found, sealed, hettie)
    post_parcel(parcel=closed(found, gone, hettie), by=hettie, at=AFTER, posted_on=AFTER.date())
    with django_capture_on_commit_callbacks(execute=True):
        done = withdraw_line(line=line(found, 1), by=ignatius, at=LATER, reason="Mouldy tray.")
    assert (done.taken_out, done.told, done.sealed) == (3, 4, ())
    assert [item.parcel.member for item in living(found)] == [gone]
    states = Packet.objects.filter(lot__name_text="Primula a").values_list("state", flat=True)
    assert sorted(states) == ["in_store"] * 4 + ["sent"]
    assert parcel_of(found, sealed).closed_at is None
    letters = {letter.to[0]: letter.body for letter in mail.outbox}
    assert all("Mouldy tray." in words for words in letters.values())
    assert "do not sow it" in letters[gone.email]
    assert all("do not sow it" not in letters[one.email] for one in people[:3])


def test_who_lost_it_is_owed_another_and_the_next_run_gives_it(found, people, ignatius):
    withdraw_line(line=line(found, 1), by=ignatius, at=LATER, reason="Mouldy tray.")
    top_up(round=found, by=ignatius, at=LATER, why="Line 1 was mouldy")
    assert not living(found).exists()
    for member in people:
        items = ParcelItem.objects.filter(parcel__member=member, released_at=None)
        assert [item.line.line_number for item in items] == [2]


def test_the_scanner_says_that_it_is_withdrawn(found, people, hettie, ignatius):
    parcel = take_in_hand(parcel=parcel_of(found, people[0]), by=hettie, at=AFTER)
    number = parcel.items.get().packet.number
    withdraw_line(line=line(found, 1), by=ignatius, at=LATER, reason="Mouldy tray.")
    with pytest.raises(Refused, match="line 1 is withdrawn: Mouldy tray"):
        scan(parcel=parcel, number=number, by=hettie, at=LATER)


def test_the_keeper_sees_first_whom_it_touches(found, people, hettie, ignatius, signed_in):
    packed(found, people[0], hettie)
    client = signed_in(ignatius)
    page = client.get(reverse("line-change", args=[found.slug, 1])).text
    assert "4 packets of it are in parcels not yet posted" in page
    assert "1 packed already" in page
    answer = client.post(
        reverse("line-withdraw", args=[found.slug, 1]), {"reason": "Mouldy tray."}, follow=True
    )
    assert "4 packets are out of parcels that were not posted." in answer.text
    assert "Mail goes to 4 members" in answer.text


def test_before_the_announcement_the_next_run_gives_it_up(ignatius):
    found = listed_round(ignatius, stored_lot("Primula a", 5))
    wish(found, MemberFactory(), 1)
    done = withdraw_line(line=line(found, 1), by=ignatius, at=AFTER, reason="Mouldy tray.")
    assert (done.taken_out, done.told) == (0, 0)


def test_no_promised_packet_is_discarded_round_its_parcel(found, people, ignatius, signed_in):
    """The parcel would wait for a packet that is gone, and nothing could close it."""
    item = living(found).order_by("pk").first()
    with pytest.raises(Refused, match="is promised to a parcel"):
        discard(packet=item.packet, by=ignatius, at=LATER, why="wet")
    answer = signed_in(ignatius).post(
        reverse("packet-discard", args=[item.packet.number]), {"why": "wet"}, follow=True
    )
    assert "is promised to a parcel" in answer.text
    item.packet.refresh_from_db()
    assert item.packet.state == "held"


def test_a_promise_whose_packet_went_round_its_parcel_long_ago_can_be_given_up(found, ignatius):
    """As releases before this one left some: the promise stands, the packet is discarded."""
    item = living(found).order_by("pk").first()
    Packet.objects.filter(pk=item.packet_id).update(state="discarded", place=None, seeds_left=0)
    other = release_item(item=item, by=ignatius, at=LATER, reason="it went astray")
    assert other is not None
    assert other.packet.state == "held"
