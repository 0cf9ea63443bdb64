"""What is left of a round to be taken, and what a member has taken of it."""

import datetime
from dataclasses import dataclass

from django.db.models import Count, F, Q, QuerySet

from seedbank.bank.models import Packet
from seedbank.exchange.models import ListLine, ParcelItem, Round, Surplus
from seedbank.exchange.queries.listing import lines_with_kinds
from seedbank.members.models import Member


@dataclass(frozen=True, slots=True)
class SurplusStage:
    """Whether the surplus can be taken now, and what may still be taken by one member."""

    surplus: Surplus | None
    is_open: bool
    is_over: bool
    may_take: int


def surplus_of(round: Round, member: Member, at: datetime.datetime) -> SurplusStage:
    surplus = Surplus.objects.filter(round=round).first()
    if surplus is None:
        return SurplusStage(None, is_open=False, is_over=False, may_take=0)
    is_open = surplus.opens_at <= at < surplus.closes_at
    taken = taken_by(round, member).count()
    return SurplusStage(
        surplus, is_open, at >= surplus.closes_at, max(0, surplus.packets_each - taken)
    )


def taken_by(round: Round, member: Member) -> QuerySet[ParcelItem]:
    """Return the packets a member took of the surplus and has not given back."""
    return (
        ParcelItem.objects.filter(
            parcel__round=round, parcel__member=member, is_surplus=True, released_at=None
        )
        .select_related("line__lot", "packet", "parcel")
        .order_by("promised_at", "pk")
    )


def lines_left(lines: QuerySet[ListLine]) -> QuerySet[ListLine]:
    """Return the lines with packets left, those kept for the bank not counted."""
    in_store = Count("lot__packets", filter=Q(lot__packets__state=Packet.State.IN_STORE))
    return lines_with_kinds(
        lines.filter(withdrawn_reason="")
        .alias(in_store=in_store)
        .filter(in_store__gt=F("kept_back"))
        .annotate(left=in_store - F("kept_back"))
        .order_by("line_number")
    )


def packets_left(round: Round) -> int:
    """Count the packets of a round that lie free, those kept for the bank left aside."""
    rows = (
        ListLine.objects.filter(round=round, withdrawn_reason="")
        .annotate(
            in_store=Count("lot__packets", filter=Q(lot__packets__state=Packet.State.IN_STORE))
        )
        .values_list("in_store", "kept_back")
    )
    return sum(max(0, in_store - kept_back) for in_store, kept_back in rows)
