"""What the page behind a slip's code shows: the parcel's packets, and nothing about anybody."""

import datetime
from dataclasses import dataclass

from django.db.models import QuerySet

from seedbank.exchange.models import Parcel, ParcelItem
from seedbank.sowings.models import Count, Sowing

# Two seasons: seed that is slow comes in the second spring.
OPEN_FOR = datetime.timedelta(days=730)
MOST_REPORTS_A_PACKET = 6


@dataclass(frozen=True, slots=True)
class ReportedPacket:
    """A packet of the parcel, and what this slip told of it so far."""

    number: str
    name: str
    seeds: int
    sown_on: datetime.date | None
    seeds_sown: int | None
    came_up: int | None


def why_not_reported(parcel: Parcel, at: datetime.datetime) -> str:
    """Say why nothing can be reported of a parcel; empty where it can."""
    if parcel.report_stopped_at is not None:
        return "This page has been shut. Members report by signing in."
    if parcel.posted_on is None:
        return "This parcel is not on its way yet."
    if at.date() > parcel.posted_on + OPEN_FOR:
        return "This code has run out. Members report by signing in."
    return ""


def reports_of(parcel: Parcel) -> QuerySet[Count]:
    """Counts that were told through the code of a parcel's slip."""
    packets = ParcelItem.objects.filter(parcel=parcel).values("packet")
    return Count.objects.filter(
        replicate__sowing__packet__in=packets,
        replicate__sowing__is_recipients_report=True,
    )


def reported_packets(parcel: Parcel) -> list[ReportedPacket]:
    items = (
        ParcelItem.objects.filter(parcel=parcel, released_at=None)
        .select_related("packet__lot")
        .order_by("packet__number")
    )
    told = {
        sowing.packet_id: sowing
        for sowing in Sowing.objects.filter(
            packet__in=[item.packet_id for item in items],
            is_recipients_report=True,
            withdrawn_at=None,
        ).prefetch_related("replicates")
    }
    return [_reported(item, told.get(item.packet_id)) for item in items]


def _reported(item: ParcelItem, sowing: Sowing | None) -> ReportedPacket:
    pots = sowing.replicates.all() if sowing else ()
    return ReportedPacket(
        number=item.packet.number,
        name=item.packet.lot.name_text,
        seeds=item.packet.seeds,
        sown_on=sowing.sown_on if sowing else None,
        seeds_sown=sowing.seeds_sown if sowing else None,
        came_up=sum(pot.germinated for pot in pots) if sowing else None,
    )
