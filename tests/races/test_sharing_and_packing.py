"""Several keepers press at once, several packers reach for one parcel. Each race is shown first."""

import time

import pytest

from crosses.base.refusal import Refused
from seedbank.bank.models import Movement
from seedbank.exchange.actions.allocation import freeze_inputs, run_allocation
from seedbank.exchange.actions.picking import scan, take_in_hand
from seedbank.exchange.models import AllocationRun, Parcel, ParcelItem, Round
from seedbank.members.actions.roles import Role, give_role
from seedbank.members.models import Member
from tests.factories.exchange import AFTER, announced, listed_round, parcel_of, stored_lot, wish
from tests.factories.members import MemberFactory

pytestmark = pytest.mark.usefixtures("real_database")

PEOPLE = 6
# Long enough that everybody has looked before anybody writes.
PAUSE_SECONDS = 0.2


@pytest.fixture
def frozen(ignatius, tansy):
    found = listed_round(ignatius, stored_lot("Primula a", 1))
    wish(found, tansy, 1)
    return freeze_inputs(round=found, by=ignatius, at=AFTER)


def test_control_who_looks_before_anybody_writes_finds_no_run(frozen, all_at_once):
    def look() -> bool:
        seen = Round.objects.get(pk=frozen.pk).runs.exists()
        time.sleep(PAUSE_SECONDS)
        return seen

    assert all_at_once(look, PEOPLE) == [False] * PEOPLE


def test_keepers_who_press_at_once_share_out_once_and_see_one_result(frozen, ignatius, all_at_once):
    def press() -> AllocationRun:
        return run_allocation(round=frozen, public_value="4 8 15", by=ignatius, at=AFTER)

    runs = all_at_once(press, PEOPLE)
    assert set(runs) == {AllocationRun.objects.get()}
    assert ParcelItem.objects.count() == 1


@pytest.fixture
def parcel(ignatius, tansy):
    found = listed_round(ignatius, stored_lot("Primula a", 1))
    wish(found, tansy, 1)
    return parcel_of(announced(found, ignatius), tansy)


def test_control_without_a_lock_every_packer_takes_the_parcel(parcel, ignatius, all_at_once):
    def look_then_take() -> bool:
        is_free = Parcel.objects.get(pk=parcel.pk).packer_id is None
        time.sleep(PAUSE_SECONDS)
        Parcel.objects.filter(pk=parcel.pk).update(packer=ignatius, taken_at=AFTER)
        return is_free

    assert all_at_once(look_then_take, PEOPLE) == [True] * PEOPLE


def test_of_packers_who_reach_at_once_one_has_the_parcel_in_hand(parcel, all_at_once):
    packers = MemberFactory.create_batch(PEOPLE)
    for packer in packers:
        give_role(member=packer, role=Role.PACKER)
    waiting = [Member.objects.get(pk=packer.pk) for packer in packers]

    def take() -> Parcel:
        return take_in_hand(parcel=parcel, by=waiting.pop(), at=AFTER)

    answers = all_at_once(take, PEOPLE)
    assert sum(isinstance(answer, Parcel) for answer in answers) == 1
    others = [answer for answer in answers if isinstance(answer, Exception)]
    assert {type(other) for other in others} == {Refused}
    assert {other.code for other in others} == {"in-other-hands"}


def test_a_packet_scanned_twice_at_once_is_packed_once(parcel, hettie, all_at_once):
    take_in_hand(parcel=parcel, by=hettie, at=AFTER)
    number = ParcelItem.objects.get().packet.number

    def beep() -> ParcelItem:
        return scan(parcel=parcel, number=number, by=hettie, at=AFTER)

    answers = all_at_once(beep, PEOPLE)
    assert sum(isinstance(answer, ParcelItem) for answer in answers) == 1
    assert Movement.objects.filter(kind="packed").count() == 1
