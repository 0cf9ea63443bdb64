"""A packet is found mouldy: who took the line at the latest turn is short of it, and owed another."""

import pytest

from seedbank.exchange.actions.allocation import top_up
from seedbank.exchange.actions.picking import release_item, scan, take_in_hand
from seedbank.exchange.models import ParcelItem
from tests.factories.bank import packets_of
from tests.factories.exchange import A_DAY, AFTER, announced, listed_round, stored_lot, wish
from tests.factories.members import MemberFactory

pytestmark = pytest.mark.django_db


def items_by_turn(found):
    return list(ParcelItem.objects.filter(parcel__round=found, released_at=None).order_by("turn"))


@pytest.fixture
def scarce(ignatius):
    """Five who want line 1, three packets of it."""
    found = listed_round(ignatius, stored_lot("Primula a", 3), allowance=1)
    for member in MemberFactory.create_batch(5):
        wish(found, member, 1)
    return announced(found, ignatius)


def lose(item, keeper):
    return release_item(item=item, by=keeper, at=AFTER + A_DAY, reason="mouldy")


def test_the_last_who_took_the_line_gives_hers_to_who_took_it_before(scarce, ignatius):
    first, middle, last = items_by_turn(scarce)
    moved = lose(first, ignatius)
    assert (moved.parcel, moved.packet, moved.turn) == (first.parcel, last.packet, first.turn)
    last.refresh_from_db()
    middle.refresh_from_db()
    assert last.is_owed
    assert "was taken last" in last.released_reason
    assert middle.released_at is None


def test_who_took_it_last_herself_is_owed_another(scarce, ignatius):
    *_others, last = items_by_turn(scarce)
    assert lose(last, ignatius) is None
    last.refresh_from_db()
    assert last.is_owed


def test_what_is_packed_is_not_taken_back_for_another(scarce, ignatius, hettie):
    first, middle, last = items_by_turn(scarce)
    take_in_hand(parcel=last.parcel, by=hettie, at=AFTER)
    scan(parcel=last.parcel, number=last.packet.number, by=hettie, at=AFTER)
    assert lose(first, ignatius).packet == middle.packet
    last.refresh_from_db()
    assert last.released_at is None


def test_who_gave_hers_up_is_served_first_when_another_packet_turns_up(scarce, ignatius):
    first, _middle, last = items_by_turn(scarce)
    lose(first, ignatius)
    packets_of(last.line.lot, 1)
    top_up(round=scarce, why="one more was found", by=ignatius, at=AFTER + 2 * A_DAY)
    assert last.parcel.member in {item.parcel.member for item in items_by_turn(scarce)}
