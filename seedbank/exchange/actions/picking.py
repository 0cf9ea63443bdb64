"""At the packing table: take a parcel in hand, and check every packet into it by its number."""

import datetime

from django.db import transaction
from django.db.models import QuerySet

from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from seedbank.bank.actions.packet import discard, move
from seedbank.bank.models import Movement, Packet
from seedbank.exchange.access import may_keep
from seedbank.exchange.actions.promises import give_up, mark_released
from seedbank.exchange.models import ListLine, Parcel, ParcelItem
from seedbank.members.models import Member


@transaction.atomic
def take_in_hand(*, parcel: Parcel, by: Member, at: datetime.datetime) -> Parcel:
    """Take a parcel to pack it. From now on its address is shown to this packer and to no other."""
    parcel = locked_parcel(parcel)
    _refuse_if_done(parcel)
    if parcel.round.announced_at is None:
        raise Refused("not-announced", "The result is not announced yet; parcels may still change.")
    if parcel.packer_id not in {None, by.pk}:
        raise Refused("in-other-hands", f"{parcel.packer} has this parcel in hand.")
    if parcel.packer_id is None:
        parcel.packer, parcel.taken_at = by, at
        save_with_history(parcel, by=by, why="Taken in hand.")
    return parcel


@transaction.atomic
def put_down(*, parcel: Parcel, by: Member, at: datetime.datetime) -> Parcel:
    """Give a parcel back to the table; what is packed stays packed."""
    parcel = _open_and_in_hand(parcel, by)
    parcel.packer, parcel.taken_at = None, None
    save_with_history(parcel, by=by, why="Put down.")
    return parcel


@transaction.atomic
def scan(*, parcel: Parcel, number: str, by: Member, at: datetime.datetime) -> ParcelItem:
    """Check a packet into the parcel by its number, or say what it is and where it belongs."""
    parcel = _open_and_in_hand(parcel, by)
    item = _items(parcel).filter(packet__number=number).first()
    if item is None:
        raise Refused("wrong-packet", _what_it_is(parcel, number), field="number")
    if item.packed_at:
        raise Refused("packed-already", f"{number} is in this parcel already.", field="number")
    move(packet=item.packet, kind=Movement.Kind.PACKED, by=by, at=at, reference=parcel.number)
    item.packed_at, item.packed_by = at, by
    item.save(update_fields=["packed_at", "packed_by"])
    return item


@transaction.atomic
def take_out(*, item: ParcelItem, by: Member, at: datetime.datetime) -> ParcelItem:
    """Take a packet out of an open parcel again; it stays promised to it."""
    parcel = _open_and_in_hand(item.parcel, by)
    item = _items(parcel).get(pk=item.pk)
    if not item.packed_at:
        raise Refused("not-packed", "This packet is not in the parcel.")
    move(packet=item.packet, kind=Movement.Kind.UNPACKED, by=by, at=at, reference=parcel.number)
    item.packed_at = item.packed_by = None
    item.save(update_fields=["packed_at", "packed_by"])
    return item


@transaction.atomic
def short_item(
    *,
    item: ParcelItem,
    by: Member,
    at: datetime.datetime,
    reason: str,
    stays_in_store: bool = False,
) -> ParcelItem | None:
    """A packet cannot be packed: put another of the same lot in its place, or give the promise up.

    A packet that is missing or spoilt leaves the stock with the reason. Returns the promise that
    takes its place, or None when the store has no other packet; then the member is owed one.
    """
    _open_and_in_hand(item.parcel, by)
    return release_item(item=item, by=by, at=at, reason=reason, stays_in_store=stays_in_store)


@transaction.atomic
def release_item(
    *,
    item: ParcelItem,
    by: Member,
    at: datetime.datetime,
    reason: str,
    stays_in_store: bool = False,
) -> ParcelItem | None:
    if not reason.strip():
        raise Refused("reason-missing", "Say what is wrong with the packet.", field="what")
    parcel = locked_parcel(item.parcel)
    _refuse_if_done(parcel)
    item = _items(parcel).filter(pk=item.pk).first() or item
    if item.released_at:
        raise Refused("released", "This promise has been given up already.")
    if item.packed_at:
        raise Refused("packed", "Take the packet out of the parcel first.")
    if stays_in_store:
        # It must not go to this member; nobody took anything from her that she could have had.
        give_up([item], by=by, at=at, reason=reason, is_owed=False)
        return None
    _leaves_the_stock(item, by=by, at=at, why=f"{parcel.number}: {reason}")
    other = _another(item) or _from_the_last(item, by=by, at=at)
    mark_released(
        [item], by=by, at=at, reason=reason, is_owed=other is None, is_replaced=other is not None
    )
    if other is None:
        return None
    move(
        packet=other,
        kind=Movement.Kind.HELD,
        by=by,
        at=at,
        reference=parcel.number,
        note=f"for {item.packet}",
    )
    return ParcelItem.objects.create(
        parcel=parcel, line=item.line, packet=other, run=item.run, turn=item.turn, promised_at=at
    )


def _leaves_the_stock(item: ParcelItem, *, by: Member, at: datetime.datetime, why: str) -> None:
    """Give the promise up and discard the packet, unless it has gone round its parcel before."""
    if item.packet.state == Packet.State.HELD:
        move(packet=item.packet, kind=Movement.Kind.RELEASED, by=by, at=at, note=why)
    if item.packet.state == Packet.State.IN_STORE:
        discard(packet=item.packet, by=by, at=at, why=why)


def _another(item: ParcelItem) -> Packet | None:
    """Return a packet of the same lot that is in store and not among those kept for the bank."""
    free = list(
        Packet.objects.filter(lot=item.line.lot_id, state=Packet.State.IN_STORE).order_by("number")
    )
    return free[0] if len(free) > item.line.kept_back else None


def _from_the_last(item: ParcelItem, *, by: Member, at: datetime.datetime) -> Packet | None:
    """Take a packet of the line back from whoever took it at the latest turn, after this member.

    With one packet less to begin with it is she whom the sharing-out would have passed by. What
    is packed already stays, and where there are no turns whoever had the lost packet is owed one.
    """
    if item.run is None or item.turn is None:
        return None
    last = (
        ParcelItem.objects.select_for_update(of=("self",))
        .filter(line=item.line_id, released_at=None, packed_at=None, turn__isnull=False)
        .exclude(pk=item.pk)
        .select_related("packet", "parcel", "run")
        .order_by("-run__position", "-turn")
        .first()
    )
    if last is None or last.run is None or last.turn is None:
        return None
    if (last.run.position, last.turn) <= (item.run.position, item.turn):
        return None
    words = f"A packet of line {item.line.line_number} was lost, and this one was taken last."
    give_up([last], by=by, at=at, reason=words, is_owed=True)
    last.packet.refresh_from_db()
    return last.packet


def _open_and_in_hand(parcel: Parcel, by: Member) -> Parcel:
    parcel = locked_parcel(parcel)
    _refuse_if_done(parcel)
    require_in_hand(parcel, by)
    return parcel


def locked_parcel(parcel: Parcel) -> Parcel:
    parcels = Parcel.objects.select_for_update(of=("self",)).select_related(
        "round", "member", "packer"
    )
    return parcels.get(pk=parcel.pk)


def _items(parcel: Parcel) -> QuerySet[ParcelItem]:
    return ParcelItem.objects.filter(parcel=parcel, released_at=None).select_related(
        "packet__place", "line__lot", "parcel", "run"
    )


def _refuse_if_done(parcel: Parcel) -> None:
    if parcel.cancelled_at:
        raise Refused("parcel-cancelled", f"This parcel is cancelled: {parcel.cancelled_reason}")
    if parcel.closed_at:
        raise Refused("parcel-closed", "This parcel is closed.")


def require_in_hand(parcel: Parcel, by: Member) -> None:
    if parcel.packer_id == by.pk or may_keep(by):
        return
    raise Refused("not-in-hand", "Take the parcel in hand first.")


def _what_it_is(parcel: Parcel, number: str) -> str:
    """Say of a packet that does not belong into a parcel what it is and where it belongs."""
    packet = Packet.objects.select_related("lot", "place").filter(number=number).first()
    if packet is None:
        return f"There is no packet {number}. Keep it aside and ask the seed keeper."
    what = f"{number} is {packet.lot.name_text}"
    wanted = _items(parcel).filter(line__lot=packet.lot_id, packed_at=None).first()
    if wanted:
        right = wanted.packet.number
        return f"{what}, the right seed, but packet {right} is promised to this parcel. Look again."
    promise = (
        ParcelItem.objects.filter(packet=packet, released_at=None)
        .select_related("parcel", "line")
        .first()
    )
    back = f" Put it back at {packet.place}." if packet.place else ""
    withdrawn = ListLine.objects.filter(round=parcel.round_id, lot=packet.lot_id).exclude(
        withdrawn_reason=""
    )
    if (line := withdrawn.first()) is not None:
        return (
            f"{what}; line {line.line_number} is withdrawn: {line.withdrawn_reason} Nobody is to have"
            f" it.{back}"
        )
    if promise and promise.packed_at:
        return (
            f"{what}; it was packed into parcel {promise.parcel.number}. Ask who packed that one."
        )
    if promise:
        home = f"line {promise.line.line_number}; it belongs to parcel {promise.parcel.number}"
        return f"{what}, {home}.{back}"
    return f"{what}; it is {packet.get_state_display()} and nobody is to have it.{back}"
