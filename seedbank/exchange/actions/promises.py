"""Turn what a sharing-out decided into packets held for parcels, all in one transaction."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.db import transaction
from django.db.models import Exists, OuterRef
from simple_history.utils import bulk_create_with_history

from crosses.base.history import save_with_history
from crosses.base.numbers import next_numbers
from crosses.base.refusal import Refused
from seedbank.bank.actions.packet import move_many
from seedbank.bank.models import Movement, Packet
from seedbank.calc.allocation.model import Packet as Given
from seedbank.exchange.models import (
    AllocationRun,
    HandChange,
    ListLine,
    Parcel,
    ParcelItem,
    Round,
)
from seedbank.exchange.queries.inputs import living_promises
from seedbank.members.models import Member

# SQLite takes a limited number of values in one statement.
BATCH = 500


@transaction.atomic
def settle(
    *, round: Round, run: AllocationRun, given: Sequence[Given], by: Member, at: datetime.datetime
) -> None:
    """Make the promises of a round those that a run gives.

    A promise that stands already is left alone, packet and all, so that what is packed stays
    packed and nobody's packet is changed for another of the same line. Promises not in the result
    are given up; new ones take the lowest packet numbers of the lot in the order of the turns.
    """
    standing: dict[tuple[str, str], list[ParcelItem]] = defaultdict(list)
    for item in living_promises(round):
        standing[item.parcel.member.number, str(item.line.line_number)].append(item)
    # Packed ones stand first, so that a surplus is taken from those still in the trays.
    for items in standing.values():
        items.sort(key=lambda item: (item.packed_at is None, item.packet.number))
    new = []
    for packet in given:
        items = standing[packet.member, packet.line]
        if items:
            items.pop(0)
        else:
            new.append(packet)
    over = [item for items in standing.values() for item in items]
    give_up(over, by=by, at=at, reason=f"Shared out anew (run {run.position}).", is_owed=False)
    _promise(round, run, sorted(new, key=_turn_order), by=by, at=at)
    _cancel_empty_parcels(round, by=by, at=at)


@transaction.atomic
def give_up(
    items: Sequence[ParcelItem], *, by: Member, at: datetime.datetime, reason: str, is_owed: bool
) -> None:
    """Give promises up; the packets lie free in store again."""
    if any(item.packed_at for item in items):
        raise Refused("packed", "A packet that is packed must be taken out of its parcel first.")
    move_many(
        packets=[item.packet for item in items],
        kind=Movement.Kind.RELEASED,
        by=by,
        at=at,
        note=reason,
    )
    mark_released(items, by=by, at=at, reason=reason, is_owed=is_owed)


def mark_released(
    items: Iterable[ParcelItem],
    *,
    by: Member,
    at: datetime.datetime,
    reason: str,
    is_owed: bool,
    is_replaced: bool = False,
) -> None:
    """Mark promises as given up; a gift by hand ends with its packet, unless another takes its place."""
    released = list(items)
    how = {
        "released_at": at,
        "released_by": by,
        "released_reason": reason,
        "is_owed": is_owed,
    }
    for item in released:
        for name, value in how.items():
            setattr(item, name, value)
    for start in range(0, len(released), BATCH):
        keys = [item.pk for item in released[start : start + BATCH]]
        ParcelItem.objects.filter(pk__in=keys).update(**how)
    if not is_replaced:
        _end_gifts(released, at=at)


def _end_gifts(released: Sequence[ParcelItem], *, at: datetime.datetime) -> None:
    """End what was given by hand and is gone: later runs would look for a packet that is not there."""
    gone = {(item.parcel.member_id, item.line_id) for item in released}
    gifts = HandChange.objects.filter(
        round__in={item.parcel.round_id for item in released},
        kind=HandChange.Kind.GIVE,
        replaced_at=None,
    )
    for gift in gifts:
        if (gift.member_id, gift.line_id) in gone:
            gift.replaced_at = at
            gift.save(update_fields=["replaced_at"])


def _turn_order(packet: Given) -> tuple[int, bytes, int]:
    return packet.turn, packet.member.encode(), packet.position


def _promise(
    round: Round, run: AllocationRun, new: Sequence[Given], *, by: Member, at: datetime.datetime
) -> None:
    if not new:
        return
    lines = {
        str(line.line_number): line
        for line in ListLine.objects.filter(
            round=round, line_number__in={int(packet.line) for packet in new}
        )
    }
    free = _free_packets(lines.values())
    parcels = open_parcels(
        round, sorted({packet.member for packet in new}, key=str.encode), by=by, at=at
    )
    items = [
        ParcelItem(
            parcel=parcels[packet.member],
            line=lines[packet.line],
            packet=_next_free(free, lines[packet.line]),
            run=run,
            turn=packet.turn or None,
            promised_at=at,
        )
        for packet in new
    ]
    ParcelItem.objects.bulk_create(items, batch_size=200)
    move_many(
        packets=[item.packet for item in items],
        kind=Movement.Kind.HELD,
        by=by,
        at=at,
        reference={item.packet_id: item.parcel.number for item in items},
    )


def _free_packets(lines: Iterable[ListLine]) -> dict[int, list[Packet]]:
    """Return the packets in store by lot, highest number first, so that the lowest is popped next."""
    free: dict[int, list[Packet]] = defaultdict(list)
    lots = [line.lot_id for line in lines]
    for packet in Packet.objects.filter(lot__in=lots, state=Packet.State.IN_STORE).order_by(
        "-number"
    ):
        free[packet.lot_id].append(packet)
    return free


def _next_free(free: dict[int, list[Packet]], line: ListLine) -> Packet:
    if not free[line.lot_id]:
        raise Refused(
            "stock-gone",
            f"A packet of line {line.line_number} has left the store. Freeze and share out again.",
        )
    return free[line.lot_id].pop()


def open_parcels(
    round: Round, member_numbers: Sequence[str], *, by: Member, at: datetime.datetime
) -> dict[str, Parcel]:
    """Return each member's open parcel; whoever has none, or a closed one, gets a new one."""
    parcels = {
        parcel.member.number: parcel
        for parcel in Parcel.objects.filter(
            round=round, closed_at=None, cancelled_at=None
        ).select_related("member")
    }
    without = [number for number in member_numbers if number not in parcels]
    people = {member.number: member for member in Member.objects.filter(number__in=without)}
    numbers = next_numbers("parcel", len(without)) if without else []
    new = [
        Parcel(number=number, round=round, member=people[member])
        for member, number in zip(without, numbers, strict=True)
    ]
    made = bulk_create_with_history(new, Parcel, batch_size=200, default_user=by, default_date=at)
    return parcels | {parcel.member.number: parcel for parcel in made}


def _cancel_empty_parcels(round: Round, *, by: Member, at: datetime.datetime) -> None:
    """A member who gives her promises back must not meet the packers as an empty envelope."""
    promised = ParcelItem.objects.filter(parcel=OuterRef("pk"), released_at=None)
    open_parcels = Parcel.objects.filter(round=round, closed_at=None, cancelled_at=None)
    for parcel in open_parcels.exclude(Exists(promised)):
        parcel.cancelled_at, parcel.cancelled_reason = at, "Nothing is promised to it any more."
        save_with_history(parcel, by=by, why=parcel.cancelled_reason)
