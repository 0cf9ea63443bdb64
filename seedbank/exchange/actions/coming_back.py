"""What a recipient reports through the code of the slip: a sowing and a count, so marked."""

import datetime
import uuid

from django.db import transaction

from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from seedbank.exchange.actions.picking import locked_parcel
from seedbank.exchange.models import Parcel, ParcelItem
from seedbank.exchange.queries.coming_back import (
    MOST_REPORTS_A_PACKET,
    reports_of,
    why_not_reported,
)
from seedbank.members.actions.tally import count_one
from seedbank.members.models import Member
from seedbank.sowings.actions.count import record_count
from seedbank.sowings.actions.sowing import sow
from seedbank.sowings.models import Count, Sowing

# Nobody counts pots faster; a script does.
MOST_AN_HOUR = 20
_HOUR = datetime.timedelta(hours=1)


def report_germination(
    *,
    parcel: Parcel,
    at: datetime.datetime,
    packet: str,
    sown_on: datetime.date,
    seeds_sown: int,
    came_up: int,
    counted_on: datetime.date,
    client_key: uuid.UUID | None = None,
) -> Count:
    """Write down what whoever holds the slip saw; it stands under the member the parcel went to.

    The first report of a packet is its sowing and a count, each later one another count.
    """
    # Counted apart from the report, or a refused one would not count.
    if count_one(f"report-{parcel.number}", at=at, window=_HOUR).times > MOST_AN_HOUR:
        raise Refused("too-often", "That is a lot of reports for one hour. Go on a little later.")
    return _report(
        parcel,
        at=at,
        packet=packet,
        sown_on=sown_on,
        seeds_sown=seeds_sown,
        came_up=came_up,
        counted_on=counted_on,
        client_key=client_key,
    )


@transaction.atomic
def _report(
    parcel: Parcel,
    *,
    at: datetime.datetime,
    packet: str,
    sown_on: datetime.date,
    seeds_sown: int,
    came_up: int,
    counted_on: datetime.date,
    client_key: uuid.UUID | None,
) -> Count:
    parcel = locked_parcel(parcel)
    told = Count.objects.filter(client_key=client_key).first() if client_key else None
    if told is not None:
        return told
    if why_not := why_not_reported(parcel, at):
        raise Refused("reports-shut", why_not)
    item = ParcelItem.objects.select_related("packet__lot").filter(
        parcel=parcel, released_at=None, packet__number=packet
    )
    found = item.first()
    if found is None:
        raise Refused("not-in-parcel", "This packet is not of this parcel.", field="packet")
    if reports_of(parcel).filter(replicate__sowing__packet=found.packet).count() >= (
        MOST_REPORTS_A_PACKET
    ):
        words = "This packet has had all the reports its code takes. Sign in to count on."
        raise Refused("reports-full", words, field="packet")
    sowing = _sowing_told(found, parcel.member, at, sown_on, seeds_sown)
    return record_count(
        replicate=sowing.replicates.get(),
        by=parcel.member,
        at=at,
        counted_on=counted_on,
        number=came_up,
        typed_as=Count.TypedAs.TOTAL,
        client_key=client_key,
    )


@transaction.atomic
def stop_reports(*, parcel: Parcel, by: Member, at: datetime.datetime) -> Parcel:
    """Shut the page that the slip's code opens; what was reported stays."""
    parcel = locked_parcel(parcel)
    if parcel.report_stopped_at is None:
        parcel.report_stopped_at, parcel.report_stopped_by = at, by
        save_with_history(parcel, by=by, why="Its page for reports is shut.")
    return parcel


def _sowing_told(
    item: ParcelItem,
    member: Member,
    at: datetime.datetime,
    sown_on: datetime.date,
    seeds_sown: int,
) -> Sowing:
    """Return the sowing that this slip told of before, or write it down now."""
    told = Sowing.objects.filter(
        packet=item.packet, is_recipients_report=True, withdrawn_at=None
    ).first()
    if told is None:
        return sow(
            packet=item.packet,
            grower=member,
            by=member,
            at=at,
            sown_on=sown_on,
            seeds_sown=seeds_sown,
            is_recipients_report=True,
        )
    if (told.sown_on, told.seeds_sown) != (sown_on, seeds_sown):
        words = f"You told of {told.seeds_sown} seeds sown on {told.sown_on:%d %B %Y} before."
        raise Refused("told-otherwise", f"{words} Sign in to put it right.", field="seeds_sown")
    return told
