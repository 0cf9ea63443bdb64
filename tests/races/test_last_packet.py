"""One packet is left and many want it. Each race is first shown without its guard."""

import time

import pytest
from django.db import IntegrityError, connection, transaction

from crosses.base.refusal import Refused
from seedbank.bank.actions.packet import make_packets, move, move_many
from seedbank.bank.models import Lot, Movement, Packet
from tests.factories.bank import LotFactory, packet_in_store, packets_of

pytestmark = pytest.mark.usefixtures("real_database")

PEOPLE = 8
# Long enough that everybody has looked before anybody writes.
PAUSE_SECONDS = 0.2


def won(answers: list[object]) -> int:
    return sum(not isinstance(answer, Exception) for answer in answers)


def test_control_without_lock_or_step_everybody_gets_the_last_packet(ignatius, at, all_at_once):
    packet = packet_in_store()

    def look_then_take() -> None:
        seen = Packet.objects.get(pk=packet.pk)
        assert seen.state == "in_store"
        time.sleep(PAUSE_SECONDS)
        Packet.objects.filter(pk=packet.pk).update(state="held")

    assert won(all_at_once(look_then_take, PEOPLE)) == PEOPLE


def test_the_last_packet_goes_to_one_person(ignatius, at, all_at_once):
    packet = packet_in_store()

    def take() -> Movement:
        seen = Packet.objects.get(pk=packet.pk)
        time.sleep(PAUSE_SECONDS)
        return move(packet=seen, kind="held", by=ignatius, at=at)

    answers = all_at_once(take, PEOPLE)
    assert won(answers) == 1
    losers = [answer for answer in answers if isinstance(answer, Exception)]
    assert {type(loser) for loser in losers} == {Refused}
    assert {loser.code for loser in losers} == {"just-gone"}
    assert [m.kind for m in packet.movements.all()] == ["made", "held"]


def test_the_table_takes_one_movement_a_step_even_from_writers_who_lock_nothing(
    ignatius, at, all_at_once
):
    packet = packet_in_store()

    def look_then_write() -> Movement:
        step = Packet.objects.get(pk=packet.pk).last_step + 1
        time.sleep(PAUSE_SECONDS)
        return Movement.objects.create(packet=packet, step=step, kind="held", at=at, by=ignatius)

    answers = all_at_once(look_then_write, PEOPLE)
    assert won(answers) == 1
    assert {type(answer) for answer in answers} == {Movement, IntegrityError}


def test_of_many_packets_promised_at_once_none_is_promised_twice(ignatius, at, all_at_once):
    lot = LotFactory(owner=None)
    packets = packets_of(lot, 20)

    def promise_all() -> None:
        move_many(packets=list(packets), kind="held", by=ignatius, at=at)

    assert won(all_at_once(promise_all, PEOPLE)) == 1
    assert Movement.objects.filter(packet__lot=lot, kind="held").count() == 20


def test_control_without_the_lots_lock_its_seed_is_handed_out_many_times(tansy, at, all_at_once):
    lot = LotFactory(raised_by=tansy, seed_counting=Lot.SeedCounting.COUNTED, seeds=25)

    def look_then_make() -> int:
        left = 25 - sum(lot.packets.values_list("seeds", flat=True))
        time.sleep(PAUSE_SECONDS)
        return left

    assert all_at_once(look_then_make, PEOPLE) == [25] * PEOPLE


def test_the_last_seed_of_a_lot_goes_into_one_packet(tansy, at, all_at_once):
    lot = LotFactory(raised_by=tansy, seed_counting=Lot.SeedCounting.COUNTED, seeds=25)

    def make() -> list[Packet]:
        with transaction.atomic():
            return make_packets(lot=lot, how_many=1, seeds_each=25, by=tansy, at=at)

    assert won(all_at_once(make, PEOPLE)) == 1
    assert lot.packets.count() == 1


def test_people_who_make_packets_at_once_get_different_numbers(tansy, at, all_at_once):
    lot = LotFactory(raised_by=tansy)
    answers = all_at_once(
        lambda: make_packets(lot=lot, how_many=5, seeds_each=10, by=tansy, at=at), PEOPLE
    )
    numbers = [packet.number for packets in answers for packet in packets]
    assert len(numbers) == len(set(numbers)) == 5 * PEOPLE


@pytest.mark.postgresql
def test_on_postgresql_two_writers_of_the_same_packets_never_wait_crosswise(
    ignatius, at, all_at_once
):
    if connection.vendor != "postgresql":
        pytest.skip("rows are locked one by one on PostgreSQL only")
    packets = packets_of(LotFactory(owner=None), 50)
    turns = iter([packets, packets[::-1]] * 10)
    answers = all_at_once(
        lambda: move_many(
            packets=next(turns), kind="moved", by=ignatius, at=at, place=packets[0].place
        ),
        8,
    )
    assert won(answers) == 8
