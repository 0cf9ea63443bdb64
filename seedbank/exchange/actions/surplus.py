"""What a round left over, first come first served: a member presses, and the packet is hers."""

import datetime
import uuid

from django.db import transaction

from crosses.base.clock import moment_in_words
from crosses.base.history import save_with_history
from crosses.base.idempotency import once
from crosses.base.refusal import Refused
from seedbank.bank.actions.packet import move
from seedbank.bank.models import Movement, Packet
from seedbank.exchange.actions.promises import give_up, open_parcels
from seedbank.exchange.models import ListLine, ParcelItem, Round, Surplus
from seedbank.exchange.queries.bars import bar_sentence, bars_for
from seedbank.exchange.queries.listing import lines_with_kinds
from seedbank.exchange.queries.surplus import taken_by
from seedbank.members.models import Member


@transaction.atomic
def set_surplus(
    *,
    round: Round,
    opens_at: datetime.datetime,
    closes_at: datetime.datetime,
    packets_each: int,
    by: Member,
    at: datetime.datetime,
) -> Surplus:
    """Say when what is left may be taken and how much of it by one member."""
    round = Round.objects.select_for_update().get(pk=round.pk)
    if not round.announced_at:
        raise Refused(
            "not-announced", "Announce the result first: until then nobody knows what is left."
        )
    if closes_at <= opens_at:
        raise Refused("closes-too-early", "The surplus closes after it opens.", field="closes_at")
    surplus = Surplus.objects.filter(round=round).first() or Surplus(round=round)
    surplus.opens_at, surplus.closes_at = opens_at, closes_at
    surplus.packets_each, surplus.set_by = packets_each, by
    save_with_history(surplus, by=by, why="Surplus set.")
    return surplus


@transaction.atomic
def take_surplus(
    *,
    round: Round,
    member: Member,
    line_number: int,
    by: Member,
    at: datetime.datetime,
    client_key: uuid.UUID | None = None,
) -> ParcelItem:
    """Promise a member a packet of a line that is left over, or say why not.

    The member's row is locked before the line's, always in this order, so that nobody waits
    crosswise: the first keeps to her limit, the second never gives one packet too many.
    """
    item, _is_new = once(
        ParcelItem,
        client_key,
        lambda: _take(round, member, line_number, by=by, at=at, client_key=client_key),
    )
    return item


@transaction.atomic
def give_surplus_back(*, item: ParcelItem, by: Member, at: datetime.datetime) -> None:
    """Let a member give back what she took, while it is not packed; the next may take it."""
    _open_surplus(item.parcel.round, at)
    item = (
        ParcelItem.objects.select_for_update(of=("self",)).select_related("packet").get(pk=item.pk)
    )
    if item.released_at or not item.is_surplus:
        raise Refused("released", "This packet has been given back already.")
    give_up([item], by=by, at=at, reason="Given back by the member.", is_owed=False)


def _take(
    round: Round,
    member: Member,
    line_number: int,
    *,
    by: Member,
    at: datetime.datetime,
    client_key: uuid.UUID | None,
) -> ParcelItem:
    surplus = _open_surplus(round, at)
    member = Member.objects.select_for_update(of=("self",)).get(pk=member.pk)
    if taken_by(round, member).count() >= surplus.packets_each:
        each = surplus.packets_each
        words = f"You have taken {each} packet{'' if each == 1 else 's'}, as many as a member may."
        raise Refused("surplus-limit", words)
    line = _line_to_take(round, member, line_number)
    free = list(
        Packet.objects.filter(lot=line.lot_id, state=Packet.State.IN_STORE).order_by("number")
    )
    if len(free) <= line.kept_back:
        raise Refused("just-gone", f"The last packet of line {line_number} has just gone.")
    parcel = open_parcels(round, [member.number], by=by, at=at)[member.number]
    item = ParcelItem.objects.create(
        parcel=parcel,
        line=line,
        packet=free[0],
        is_surplus=True,
        promised_at=at,
        client_key=client_key,
    )
    move(packet=free[0], kind=Movement.Kind.HELD, by=by, at=at, reference=parcel.number)
    return item


def _line_to_take(round: Round, member: Member, line_number: int) -> ListLine:
    """Return a line, locked, that this member may have another packet of."""
    lines = ListLine.objects.filter(round=round, line_number=line_number)
    if not lines.select_for_update(of=("self",)).exists():
        raise Refused("line-unknown", f"There is no line {line_number} on this list.")
    line = lines_with_kinds(lines).get()
    if line.withdrawn_reason:
        words = f"Line {line_number} has been withdrawn: {line.withdrawn_reason}"
        raise Refused("line-withdrawn", words)
    bar = bars_for([line], [member.country]).get((line.pk, member.country))
    if bar:
        words = f"Line {line_number} cannot be asked for. {bar_sentence(bar, member.country)}"
        raise Refused("line-barred", words)
    has = ParcelItem.objects.filter(line=line, released_at=None, parcel__cancelled_at=None)
    if round.household_shares_cap and member.household_id:
        has = has.filter(parcel__member__household=member.household_id)
        whose = "Your household has"
    else:
        has = has.filter(parcel__member=member)
        whose = "You have"
    if has.count() >= round.copies_per_line:
        raise Refused(
            "line-had", f"{whose} as many packets of line {line_number} as the round allows."
        )
    return line


def _open_surplus(round: Round, at: datetime.datetime) -> Surplus:
    surplus = Surplus.objects.filter(round=round).first()
    if surplus is None or at < surplus.opens_at:
        opens = f"; it opens on {moment_in_words(surplus.opens_at)}" if surplus else ""
        raise Refused("surplus-not-open", f"The surplus is not open yet{opens}.")
    if at >= surplus.closes_at:
        raise Refused(
            "surplus-closed", f"The surplus closed on {moment_in_words(surplus.closes_at)}."
        )
    return surplus
