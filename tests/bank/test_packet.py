"""Packets are made, moved, split and discarded by rules, and their story only grows."""

import pytest
from django.db import IntegrityError, connection, transaction

from crosses.base.refusal import Refused
from seedbank.bank.actions.packet import discard, make_packets, move, move_many, split_packet
from seedbank.bank.models import Lot, Movement, Packet
from seedbank.calc.packetstate import Step, state_of
from tests.factories.bank import LotFactory, PlaceFactory, packet_in_store, packets_of

pytestmark = pytest.mark.django_db


def test_a_members_packets_are_made_in_the_members_hands(tansy, at):
    lot = LotFactory(raised_by=tansy)
    packets = make_packets(lot=lot, how_many=3, seeds_each=25, by=tansy, at=at)
    assert len({packet.number for packet in packets}) == 3
    assert {(p.state, p.holder, p.seeds_left) for p in packets} == {("with_member", tansy, 25)}
    assert [m.kind for m in Movement.objects.filter(packet__lot=lot)] == ["made"] * 3


def test_the_banks_packets_are_made_into_the_store(ignatius, at):
    drawer = PlaceFactory(code="A-03")
    lot = LotFactory(owner=None)
    packet = make_packets(lot=lot, how_many=1, seeds_each=10, by=ignatius, at=at, place=drawer)[0]
    assert (packet.state, packet.place, packet.holder) == ("in_store", drawer, None)


def test_the_banks_packets_need_a_place(ignatius, at):
    with pytest.raises(Exception, match="needs a place"):
        make_packets(lot=LotFactory(owner=None), how_many=1, seeds_each=10, by=ignatius, at=at)


def test_no_more_packets_than_the_counted_seed_fills(tansy, at):
    lot = LotFactory(raised_by=tansy, seed_counting=Lot.SeedCounting.COUNTED, seeds=60)
    make_packets(lot=lot, how_many=2, seeds_each=20, by=tansy, at=at)
    with pytest.raises(Refused, match="20 of the lot's 60 are not in packets yet") as no:
        make_packets(lot=lot, how_many=1, seeds_each=21, by=tansy, at=at)
    assert no.value.field == "how_many"
    make_packets(lot=lot, how_many=1, seeds_each=20, by=tansy, at=at)


def test_seed_reckoned_from_samples_may_fill_packets_up_to_its_upper_end(tansy, at):
    lot = LotFactory(
        raised_by=tansy,
        seed_counting=Lot.SeedCounting.SAMPLED,
        seeds=100,
        seeds_low=90,
        seeds_high=110,
    )
    make_packets(lot=lot, how_many=5, seeds_each=22, by=tansy, at=at)
    with pytest.raises(Refused):
        make_packets(lot=lot, how_many=1, seeds_each=1, by=tansy, at=at)


def test_splitting_a_packet_takes_no_seed_from_the_lot(tansy, at):
    lot = LotFactory(raised_by=tansy, seed_counting=Lot.SeedCounting.COUNTED, seeds=50)
    packet = packets_of(lot, seeds_each=25)[0]
    split_packet(packet=packet, parts=[10, 15], by=tansy, at=at)
    assert len(make_packets(lot=lot, how_many=1, seeds_each=25, by=tansy, at=at)) == 1


def test_a_promised_packet_cannot_be_promised_again(ignatius, at):
    packet = packet_in_store()
    move(packet=packet, kind="held", by=ignatius, at=at, reference="R000001-00")
    with pytest.raises(Refused, match="is promised to a parcel") as no:
        move(packet=packet, kind="held", by=ignatius, at=at, reference="R000002-00")
    assert no.value.code == "packet-state"
    assert packet.movements.count() == 2


def test_whoever_comes_second_is_told_that_somebody_else_was_faster(ignatius, hettie, at):
    packet = packet_in_store()
    as_hettie_sees_it = Packet.objects.get(pk=packet.pk)
    move(packet=packet, kind="held", by=ignatius, at=at)
    with pytest.raises(Refused, match=f"Somebody else has just moved packet {packet.number}") as no:
        move(packet=as_hettie_sees_it, kind="held", by=hettie, at=at)
    assert no.value.code == "just-gone"


def test_a_packet_travels_from_the_donor_to_the_recipient(tansy, ignatius, rollo, at):
    drawer = PlaceFactory()
    packet = packets_of(LotFactory(raised_by=tansy))[0]
    move(packet=packet, kind="received", by=ignatius, at=at, place=drawer)
    assert (packet.state, packet.place, packet.holder) == ("in_store", drawer, None)
    move(packet=packet, kind="held", by=ignatius, at=at)
    move(packet=packet, kind="packed", by=ignatius, at=at)
    move(packet=packet, kind="sent", by=ignatius, at=at, holder=rollo)
    packet.refresh_from_db()
    assert (packet.state, packet.place, packet.holder) == ("sent", None, rollo)


def test_the_written_state_is_what_the_movements_add_up_to(tansy, ignatius, rollo, at):
    drawer = PlaceFactory()
    packet = packets_of(LotFactory(raised_by=tansy), seeds_each=30)[0]
    acts = [
        ("part_sown", {"seeds": 10}),
        ("received", {"place": drawer}),
        ("held", {}),
        ("packed", {}),
    ]
    for kind, facts in [*acts, ("sent", {"holder": rollo}), ("sown", {"seeds": 20})]:
        move(packet=packet, kind=kind, by=ignatius, at=at, **facts)
        steps = [
            Step(m.step, m.kind, m.place_id, m.holder_id, 30 if m.kind == "made" else m.seeds)
            for m in packet.movements.all()
        ]
        reckoned = state_of(steps)
        packet.refresh_from_db()
        written = (
            packet.state,
            packet.place_id,
            packet.holder_id,
            packet.seeds_left,
            packet.last_step,
        )
        assert written == (
            reckoned.state,
            reckoned.place,
            reckoned.holder,
            reckoned.seeds_left,
            reckoned.step,
        )


def test_the_banks_seed_is_not_put_into_a_members_drawer(tansy, ignatius, at):
    packet = packets_of(LotFactory(raised_by=tansy))[0]
    with pytest.raises(Refused) as no:
        move(packet=packet, kind="received", by=ignatius, at=at, place=PlaceFactory(owner=tansy))
    assert no.value.field == "place"


def test_a_members_seed_is_not_put_into_another_members_drawer(tansy, cosmo, at):
    packet = packets_of(LotFactory(raised_by=tansy))[0]
    move(packet=packet, kind="moved", by=tansy, at=at, place=PlaceFactory(owner=tansy))
    with pytest.raises(Refused) as no:
        move(packet=packet, kind="moved", by=tansy, at=at, place=PlaceFactory(owner=cosmo))
    assert no.value.code == "place-not-the-members"


def test_many_packets_move_together_or_not_at_all(ignatius, at):
    lot = LotFactory(owner=None)
    packets = packets_of(lot, 5)
    move(packet=packets[3], kind="held", by=ignatius, at=at)
    with pytest.raises(Refused, match=packets[3].number):
        move_many(packets=packets, kind="held", by=ignatius, at=at)
    assert lot.packets.filter(state="held").count() == 1
    move_many(packets=packets[:3], kind="held", by=ignatius, at=at, reference="round")
    assert lot.packets.filter(state="held").count() == 4


def test_each_packet_of_many_may_have_its_own_reference(ignatius, at):
    first, second = packets_of(LotFactory(owner=None), 2)
    move_many(
        packets=[first, second],
        kind="held",
        by=ignatius,
        at=at,
        reference={first.pk: "R000001-00", second.pk: "R000002-00"},
    )
    assert first.movements.last().reference == "R000001-00"
    assert second.movements.last().reference == "R000002-00"


def test_moving_more_packets_costs_hardly_more_queries(ignatius, at, django_assert_max_num_queries):
    packets = packets_of(LotFactory(owner=None), 400)
    with django_assert_max_num_queries(20):
        move_many(packets=packets, kind="held", by=ignatius, at=at)


def test_a_split_packet_is_gone_and_its_parts_lie_where_it_lay(tansy, at):
    drawer = PlaceFactory(owner=tansy)
    packet = packets_of(LotFactory(raised_by=tansy), seeds_each=25, place=drawer)[0]
    parts = split_packet(packet=packet, parts=[10, 15], by=tansy, at=at)
    packet.refresh_from_db()
    assert (packet.state, packet.place, packet.seeds_left) == ("split", None, 0)
    assert [(p.seeds, p.place, p.holder, p.split_from) for p in parts] == [
        (10, drawer, tansy, packet),
        (15, drawer, tansy, packet),
    ]


@pytest.mark.parametrize("parts", [[25], [10, 14], [10, 16], [25, 0], []])
def test_parts_that_do_not_add_up_split_nothing(tansy, at, parts):
    packet = packets_of(LotFactory(raised_by=tansy), seeds_each=25)[0]
    with pytest.raises(Refused) as no:
        split_packet(packet=packet, parts=parts, by=tansy, at=at)
    assert no.value.field == "parts"
    packet.refresh_from_db()
    assert packet.state == "with_member"


def test_discarding_needs_a_reason(tansy, at):
    packet = packets_of(LotFactory(raised_by=tansy))[0]
    with pytest.raises(Refused) as no:
        discard(packet=packet, by=tansy, at=at, why="  ")
    assert no.value.field == "why"
    discard(packet=packet, by=tansy, at=at, why="mouldy")
    assert packet.movements.last().note == "mouldy"


def test_nothing_more_happens_to_a_discarded_packet(tansy, at):
    packet = packets_of(LotFactory(raised_by=tansy))[0]
    discard(packet=packet, by=tansy, at=at, why="mouldy")
    with pytest.raises(Refused, match=r"was discarded \(step 2\)"):
        move(packet=packet, kind="moved", by=tansy, at=at)


def test_the_database_refuses_to_change_a_movement(tansy):
    packet = packets_of(LotFactory(raised_by=tansy))[0]
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.filter(packet=packet).update(note="rewritten")


def test_the_database_refuses_two_movements_at_one_step(tansy, at):
    packet = packets_of(LotFactory(raised_by=tansy))[0]
    move(packet=packet, kind="moved", by=tansy, at=at)
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.create(
            packet=packet, step=2, kind="discarded", at=at, by=tansy, note="torn"
        )


def test_the_database_refuses_to_move_a_movement_in_plain_sql_too(tansy):
    packet = packets_of(LotFactory(raised_by=tansy))[0]
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE bank_movement SET note = 'x' WHERE packet_id = %s", [packet.pk])
