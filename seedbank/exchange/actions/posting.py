"""Close a parcel once every packet in it is checked, and post it."""

import datetime

from django.db import transaction
from django.db.models import QuerySet

from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from seedbank.bank.actions.packet import move_many
from seedbank.bank.models import Movement
from seedbank.exchange.access import may_keep
from seedbank.exchange.actions.picking import locked_parcel, require_in_hand
from seedbank.exchange.actions.promises import give_up
from seedbank.exchange.actions.wishes import cancel_wishes
from seedbank.exchange.models import Parcel, ParcelItem, WishList
from seedbank.exchange.queries.papers import papers_of
from seedbank.members.models import Member


@transaction.atomic
def close_parcel(
    *, parcel: Parcel, by: Member, at: datetime.datetime, held_reason: str = ""
) -> Parcel:
    """Close a parcel; refused while a promised packet is neither in it nor given up.

    A rule that holds the parcel is answered for by whoever closes it: the reason and the rules as
    they stood are kept with the parcel.
    """
    parcel = locked_parcel(parcel)
    if parcel.closed_at or parcel.cancelled_at:
        raise Refused("parcel-done", "This parcel is closed already.")
    require_in_hand(parcel, by)
    items = list(_living(parcel))
    open_items = [item for item in items if not item.packed_at]
    if open_items:
        numbers = ", ".join(item.packet.number for item in open_items[:5])
        more = f" and {len(open_items) - 5} more" if len(open_items) > 5 else ""
        raise Refused(
            "parcel-not-complete",
            f"Not in the parcel yet: {numbers}{more}. Pack them, or say what is wrong.",
        )
    if not items:
        raise Refused("parcel-empty", "There is nothing in this parcel: cancel it with a reason.")
    holds = papers_of(parcel).holds
    if holds and not held_reason.strip():
        raise Refused(
            "parcel-held",
            f"Held: {'; '.join(note.rule for note in holds)}. Say why it may be closed all the same;"
            " your name stands beside the reason.",
            field="held_reason",
        )
    if holds:
        parcel.held_by_rules = "\n".join(
            f"{note.rule}: {note.finding or note.words} ({note.source}, read {note.checked_on})"
            for note in holds
        )
        parcel.held_reason, parcel.held_answered_by = held_reason.strip(), by
    parcel.closed_at, parcel.closed_by = at, by
    save_with_history(parcel, by=by, why="Closed.")
    return parcel


@transaction.atomic
def reopen_parcel(*, parcel: Parcel, by: Member, at: datetime.datetime) -> Parcel:
    parcel = locked_parcel(parcel)
    if not parcel.closed_at or parcel.posted_on:
        raise Refused(
            "parcel-not-closed", "Only a closed parcel that is not posted yet can be opened again."
        )
    if Parcel.objects.filter(
        round=parcel.round_id, member=parcel.member_id, closed_at=None, cancelled_at=None
    ).exists():
        raise Refused(
            "parcel-other-open", "The member has another open parcel by now; pack that one too."
        )
    parcel.closed_at = parcel.closed_by = None
    parcel.held_by_rules = parcel.held_reason = ""
    parcel.held_answered_by = None
    save_with_history(parcel, by=by, why="Opened again.")
    return parcel


@transaction.atomic
def post_parcel(
    *,
    parcel: Parcel,
    by: Member,
    at: datetime.datetime,
    posted_on: datetime.date,
    weight_grams: int | None = None,
    postage_text: str = "",
    papers_note: str = "",
) -> Parcel:
    """Send a closed parcel off; every packet in it leaves the store for the member."""
    parcel = locked_parcel(parcel)
    if parcel.posted_on:
        raise Refused("parcel-posted", f"Posted on {parcel.posted_on} already.")
    if not parcel.closed_at:
        raise Refused("parcel-open", "Close the parcel before it is posted.")
    if parcel.packer_id != by.pk and not may_keep(by):
        raise Refused(
            "not-in-hand", "Somebody else has packed this parcel; they or the keeper post it."
        )
    packets = [item.packet for item in _living(parcel)]
    move_many(
        packets=packets,
        kind=Movement.Kind.SENT,
        by=by,
        at=at,
        holder=parcel.member,
        reference=parcel.number,
    )
    parcel.posted_on, parcel.weight_grams = posted_on, weight_grams
    parcel.postage_text, parcel.papers_note = postage_text, papers_note
    save_with_history(parcel, by=by, why="Posted.")
    return parcel


@transaction.atomic
def cancel_parcel(*, parcel: Parcel, by: Member, at: datetime.datetime, reason: str) -> Parcel:
    """Give up a whole parcel: packed packets are taken out, and all lie free in store again.

    The member has left the round with it, or the next top-up would serve her again.
    """
    parcel = locked_parcel(parcel)
    if parcel.closed_at or parcel.cancelled_at:
        raise Refused("parcel-done", "A closed parcel is opened again before it is cancelled.")
    if not reason.strip():
        raise Refused("reason-missing", "Say why the parcel is cancelled.", field="reason")
    items = list(_living(parcel))
    packed = [item for item in items if item.packed_at]
    move_many(
        packets=[item.packet for item in packed],
        kind=Movement.Kind.UNPACKED,
        by=by,
        at=at,
        reference=parcel.number,
    )
    for item in packed:
        item.packed_at = item.packed_by = None
    ParcelItem.objects.bulk_update(packed, ["packed_at", "packed_by"])
    give_up(items, by=by, at=at, reason=reason.strip(), is_owed=False)
    parcel.cancelled_at, parcel.cancelled_reason = at, reason.strip()
    save_with_history(parcel, by=by, why=reason.strip())
    # Who has left is owed nothing more, and no top-up looks for her.
    ParcelItem.objects.filter(
        parcel__round=parcel.round_id, parcel__member=parcel.member_id, is_owed=True
    ).update(is_owed=False)
    wish_list = WishList.objects.filter(
        round=parcel.round_id, member=parcel.member_id, cancelled_at=None
    ).first()
    if wish_list:
        cancel_wishes(wish_list=wish_list, by=by, at=at)
    return parcel


def _living(parcel: Parcel) -> QuerySet[ParcelItem]:
    return ParcelItem.objects.filter(parcel=parcel, released_at=None).select_related(
        "packet", "parcel"
    )
