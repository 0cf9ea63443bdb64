"""Packets: made, moved, split, discarded. Nothing else writes a packet or its movements."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import F, Sum

from crosses.base.numbers import next_numbers
from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from seedbank.bank.actions.place import add_place
from seedbank.bank.facts import PACKET
from seedbank.bank.models import Lot, Movement, Packet, Place
from seedbank.calc.packetstate import State, Step, next_state
from seedbank.members.models import Member

MOST_AT_ONCE = 2000
# SQLite takes a limited number of values in one statement.
_BATCH = 500
_STORED = {Packet.State.IN_STORE, Packet.State.HELD}
_WITH_SOMEBODY = {Packet.State.WITH_MEMBER, Packet.State.SENT}


@transaction.atomic
def make_packets(
    *,
    lot: Lot,
    how_many: int,
    seeds_each: int,
    by: Member,
    at: datetime.datetime,
    place: Place | None = None,
    is_pinch: bool = False,
    note: str = "",
    **facts: Any,
) -> list[Packet]:
    """Make numbered packets of a lot: the owner has them, or the store if the lot is the bank's."""
    if not 1 <= how_many <= MOST_AT_ONCE:
        words = f"Make between 1 and {MOST_AT_ONCE} packets at a time."
        raise Refused("packets-how-many", words, field="how_many")
    if seeds_each < 1:
        raise Refused("packet-empty", "A packet holds one seed or more.", field="seeds_each")
    # Two people who divide one lot at the same moment must not hand out its seed twice.
    lot = Lot.objects.select_for_update(of=("self",)).select_related("owner").get(pk=lot.pk)
    if lot.is_withdrawn:
        raise Refused("lot-withdrawn", "This lot has been withdrawn: no packets are made of it.")
    if not is_pinch:
        _refuse_more_than_there_is(lot, how_many * seeds_each)
    if place is not None and not place.pk:
        place = add_place(code=place.code, name=place.name, owner=place.owner, by=by)
    made = Movement(kind=Movement.Kind.MADE, by=by, at=at, place=place, holder=lot.owner, note=note)
    return _make(lot, [seeds_each] * how_many, made, {"is_pinch": is_pinch, **facts})


def move(
    *,
    packet: Packet,
    kind: str,
    by: Member,
    at: datetime.datetime,
    place: Place | None = None,
    holder: Member | None = None,
    seeds: int | None = None,
    reference: str = "",
    note: str = "",
) -> Movement:
    """Write the next movement of one packet, or refuse it."""
    movement = Movement(kind=kind, by=by, at=at, place=place, holder=holder, seeds=seeds, note=note)
    return _write([packet], movement, {packet.pk: reference})[0]


def move_many(
    *,
    packets: Iterable[Packet],
    kind: str,
    by: Member,
    at: datetime.datetime,
    place: Place | None = None,
    holder: Member | None = None,
    reference: str | Mapping[int, str] = "",
    note: str = "",
) -> None:
    """Write the next movement of many packets: of all, or of none with the reason.

    `reference` is one for all, or each packet's own by the packet's id.
    """
    moving = list(packets)
    if isinstance(reference, str):
        reference = dict.fromkeys((packet.pk for packet in moving), reference)
    movement = Movement(kind=kind, by=by, at=at, place=place, holder=holder, note=note)
    _write(moving, movement, reference)


@transaction.atomic
def split_packet(
    *, packet: Packet, parts: Sequence[int], by: Member, at: datetime.datetime
) -> list[Packet]:
    """Divide a packet into new ones that lie where it lay and together hold its seed."""
    now = _locked([packet])[packet.pk]
    if len(parts) < 2 or min(parts) < 1:
        words = "Split a packet into two or more, with one seed or more in each."
        raise Refused("split-parts", words, field="parts")
    if now.seeds_left and sum(parts) != now.seeds_left:
        words = f"The parts add up to {sum(parts)} seeds; the packet holds {now.seeds_left}."
        raise Refused("split-sum", words, field="parts")
    move(packet=packet, kind=Movement.Kind.SPLIT, by=by, at=at)
    made = Movement(
        kind=Movement.Kind.MADE,
        by=by,
        at=at,
        place=now.place,
        holder=now.holder,
        reference=packet.number,
    )
    facts = {fact.name: getattr(now, fact.name) for fact in PACKET}
    return _make(now.lot, parts, made, facts, split_from=packet)


def discard(*, packet: Packet, by: Member, at: datetime.datetime, why: str) -> Movement:
    return move(packet=packet, kind=Movement.Kind.DISCARDED, by=by, at=at, note=why.strip())


def _make(
    lot: Lot,
    seeds: Sequence[int],
    made: Movement,
    facts: Mapping[str, Any],
    *,
    split_from: Packet | None = None,
) -> list[Packet]:
    states = [_after(None, made, seeds=number) for number in seeds]
    _refuse_wrong_place(states[0], made.place)
    packets = [
        Packet(number=number, lot=lot, seeds=state.seeds_left, made_at=made.at)
        for number, state in zip(next_numbers("packet", len(states)), states, strict=True)
    ]
    for packet, state in zip(packets, states, strict=True):
        PACKET.set_on(packet, facts)
        packet.split_from = split_from
        _set(packet, state)
    Packet.objects.bulk_create(packets, batch_size=_BATCH)
    Movement.objects.bulk_create(
        [_line(packet, made, made.reference) for packet in packets], batch_size=_BATCH
    )
    return packets


@transaction.atomic
def _write(
    packets: Sequence[Packet], movement: Movement, references: Mapping[int, str]
) -> list[Movement]:
    if movement.kind == Movement.Kind.DISCARDED and not movement.note:
        raise Refused("discard-why", "Say why the packet is discarded.", field="why")
    locked = _locked(packets)
    alike: dict[tuple[tuple[str, Any], ...], list[int]] = defaultdict(list)
    for seen in packets:
        packet = locked[seen.pk]
        state = _next(packet, seen, movement)
        _refuse_wrong_place(state, movement.place)
        alike[_changes(packet, state)].append(packet.pk)
        _set(packet, state)
        _set(seen, state)
    lines = [_line(locked[seen.pk], movement, references.get(seen.pk, "")) for seen in packets]
    try:
        with transaction.atomic():
            Movement.objects.bulk_create(lines, batch_size=_BATCH)
    except IntegrityError as error:
        raise Refused("just-gone", _just_moved(packets)) from error
    for changes, keys in alike.items():
        for start in range(0, len(keys), _BATCH):
            Packet.objects.filter(pk__in=keys[start : start + _BATCH]).update(
                last_step=F("last_step") + 1, **dict(changes)
            )
    return lines


def _changes(packet: Packet, state: State) -> tuple[tuple[str, Any], ...]:
    """Return what a movement changes of a packet beside its step.

    Of thousands that one act moves it is nearly always the same, so that a few plain updates write
    them all; a table of cases, packet by packet, took most of a sharing-out's time.
    """
    after = {
        "state": state.state,
        "place_id": state.place,
        "holder_id": state.holder,
        "seeds_left": state.seeds_left,
    }
    return tuple(item for item in after.items() if getattr(packet, item[0]) != item[1])


def _locked(packets: Sequence[Packet]) -> dict[int, Packet]:
    """Read packets afresh and lock them, in one order: two writers never wait for each other."""
    keys = sorted(packet.pk for packet in packets)
    rows = Packet.objects.select_for_update(of=("self",)).select_related("lot", "place", "holder")
    return {
        packet.pk: packet
        for start in range(0, len(keys), _BATCH)
        for packet in rows.filter(pk__in=keys[start : start + _BATCH]).order_by("pk")
    }


def _next(packet: Packet, seen: Packet, movement: Movement) -> State:
    now = State(
        packet.state, packet.place_id, packet.holder_id, packet.seeds_left, packet.last_step
    )
    try:
        return _after(now, movement, seeds=movement.seeds)
    except BadInput as no:
        if packet.last_step != seen.last_step:
            raise Refused("just-gone", f"{_just_moved([packet])} {no.message}") from no
        raise Refused("packet-state", f"{packet.number}: {no.message}", field=no.field) from no


def _after(now: State | None, movement: Movement, *, seeds: int | None) -> State:
    step = Step(
        step=now.step + 1 if now else 1,
        kind=movement.kind,
        place=movement.place_id,
        holder=movement.holder_id,
        seeds=seeds,
    )
    return next_state(now, step)


def _refuse_wrong_place(state: State, place: Place | None) -> None:
    """Seed of the bank lies in the bank's places, a member's in the member's own."""
    if place is None:
        return
    if state.state in _STORED and place.owner_id is not None:
        words = f"{place.code} is a member's own place, not the bank's."
        raise Refused("place-not-the-banks", words, field="place")
    if state.state in _WITH_SOMEBODY and place.owner_id != state.holder:
        words = f"{place.code} is not a place of the member who has the packet."
        raise Refused("place-not-the-members", words, field="place")


def _set(packet: Packet, state: State) -> None:
    packet.state = state.state
    packet.place_id = state.place
    packet.holder_id = state.holder
    packet.seeds_left = state.seeds_left
    packet.last_step = state.step


def _line(packet: Packet, movement: Movement, reference: str) -> Movement:
    return Movement(
        packet=packet,
        step=packet.last_step,
        kind=movement.kind,
        at=movement.at,
        by=movement.by,
        place=movement.place,
        holder=movement.holder,
        seeds=movement.seeds,
        reference=reference,
        note=movement.note,
    )


def _just_moved(packets: Sequence[Packet]) -> str:
    which = f"packet {packets[0].number}" if len(packets) == 1 else "one of these packets"
    return f"Somebody else has just moved {which}."


def _refuse_more_than_there_is(lot: Lot, wanted: int) -> None:
    if lot.seed_counting not in {Lot.SeedCounting.COUNTED, Lot.SeedCounting.SAMPLED}:
        return
    # An estimate may be short of the truth; its upper end is the most there can be.
    most = lot.seeds_high or lot.seeds or 0
    first_packets = lot.packets.filter(split_from=None, is_pinch=False)
    left = most - (first_packets.aggregate(seeds=Sum("seeds"))["seeds"] or 0)
    if wanted > left:
        words = (
            f"That takes {wanted} seeds; {max(left, 0)} of the lot's {most} are not in packets yet."
        )
        raise Refused("lot-short", words, field="how_many")
