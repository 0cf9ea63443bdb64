"""Forty members press for the last packets of a line. The race is first shown without its guard."""

import itertools
import time

import pytest

from crosses.base.refusal import Refused
from seedbank.bank.models import Packet
from seedbank.exchange.actions.surplus import set_surplus, take_surplus
from seedbank.exchange.models import ParcelItem
from tests.factories.exchange import A_DAY, AFTER, announced, listed_round, stored_lot, wish
from tests.factories.members import MemberFactory

pytestmark = pytest.mark.usefixtures("real_database")

PEOPLE = 40
PACKETS = 7
OPEN = AFTER + A_DAY
# Long enough that everybody has looked before anybody writes.
PAUSE_SECONDS = 1


@pytest.fixture
def left(ignatius, tansy):
    """A round with seven packets of one line and thirty of another left over."""
    found = listed_round(
        ignatius,
        stored_lot("Primula a", PACKETS),
        stored_lot("Primula b", 30),
        stored_lot("Primula c", 1),
        copies_per_line=2,
    )
    wish(found, tansy, 3)
    announced(found, ignatius)
    set_surplus(
        round=found,
        opens_at=AFTER,
        closes_at=OPEN + A_DAY,
        packets_each=2,
        by=ignatius,
        at=AFTER,
    )
    return found


def outcome(answers):
    """Return how many got a packet, and the codes of those who did not; anything else is a fault."""
    refused = [answer for answer in answers if isinstance(answer, Exception)]
    assert {type(answer) for answer in refused} <= {Refused}, refused
    return len(answers) - len(refused), {answer.code for answer in refused}


def test_control_who_looks_and_then_writes_gives_more_packets_than_there_are(left, all_at_once):
    lot = left.lines.get(line_number=1).lot
    given = []

    def look_then_give() -> None:
        if Packet.objects.filter(lot=lot, state="in_store").count() > len(given):
            time.sleep(PAUSE_SECONDS)
            given.append(1)

    all_at_once(look_then_give, PEOPLE)
    assert len(given) > PACKETS


def test_of_forty_who_press_as_many_get_one_as_there_are_packets(left, all_at_once):
    members = iter(MemberFactory.create_batch(PEOPLE))

    def press() -> ParcelItem:
        member = next(members)
        return take_surplus(round=left, member=member, line_number=1, by=member, at=OPEN)

    assert outcome(all_at_once(press, PEOPLE)) == (PACKETS, {"just-gone"})
    items = ParcelItem.objects.filter(is_surplus=True)
    assert len({item.packet_id for item in items}) == len(items) == PACKETS
    assert not Packet.objects.filter(lot__list_lines__line_number=1, state="in_store").exists()


def test_a_member_who_presses_forty_times_at_once_keeps_to_the_limit(left, all_at_once):
    member = MemberFactory()
    lines = itertools.cycle([1, 2])

    def press() -> ParcelItem:
        return take_surplus(round=left, member=member, line_number=next(lines), by=member, at=OPEN)

    got, codes = outcome(all_at_once(press, PEOPLE))
    assert (got, codes) == (2, {"surplus-limit"})
    assert member.parcels.count() == 1


def test_members_who_press_for_two_lines_crosswise_never_stop_each_other(left, all_at_once):
    members = MemberFactory.create_batch(PEOPLE // 2)
    presses = iter([(member, line_number) for line_number in (1, 2) for member in members])

    def press() -> ParcelItem:
        member, line_number = next(presses)
        return take_surplus(round=left, member=member, line_number=line_number, by=member, at=OPEN)

    assert outcome(all_at_once(press, PEOPLE)) == (PACKETS + PEOPLE // 2, {"just-gone"})
