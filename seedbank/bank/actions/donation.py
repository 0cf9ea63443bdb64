"""Donations: offered by a donor, answered line by line by the keeper."""

import datetime
import uuid
from collections.abc import Sequence
from typing import Any

from django.db import transaction
from django.db.models import Sum

from crosses.actions.rules import refuse_withdrawn
from crosses.base.history import save_with_history
from crosses.base.idempotency import once
from crosses.base.numbers import next_number
from crosses.base.refusal import Refused
from crosses.base.withdrawal import withdraw
from seedbank.bank.actions.lot import add_lot
from seedbank.bank.actions.packet import make_packets, move_many
from seedbank.bank.facts import DONATION
from seedbank.bank.models import Donation, DonationLine, Lot, Movement, Packet, Place
from seedbank.bank.queries import checked_in, lines_of
from seedbank.members.actions.mail import Letter, mail_members
from seedbank.members.models import Member

Answer = DonationLine.Answer


@transaction.atomic
def offer(
    *,
    donor: Member,
    by: Member,
    at: datetime.datetime,
    lines: Sequence[tuple[Lot, int]],
    client_key: uuid.UUID | None = None,
    **facts: Any,
) -> Donation:
    """Offer packets of one's own lots to the bank; each line is a lot and how many packets."""

    def make() -> Donation:
        if not lines:
            raise Refused("offer-empty", "Offer one packet or more of one of your lots.")
        if len({lot.pk for lot, _packets in lines}) < len(lines):
            raise Refused("offer-twice", "Each lot stands in an offer once.")
        donation = Donation(
            number=next_number("donation"),
            donor=donor,
            offered_at=at,
            client_key=client_key,
        )
        DONATION.set_on(donation, facts)
        donation.note = donation.note.strip()
        save_with_history(donation, by=by)
        for lot, packets in lines:
            refuse_offer(lot, packets, donor)
            line = DonationLine(donation=donation, lot=lot, packets_offered=packets)
            save_with_history(line, by=by)
        return donation

    return once(Donation, client_key, make)[0]


@transaction.atomic
def withdraw_donation(
    *, donation: Donation, by: Member, at: datetime.datetime, reason: str
) -> Donation:
    """Take an offer back, as long as nothing of it is in the bank."""
    if donation.lines.filter(answer=Answer.ACCEPTED).exists():
        raise Refused("donation-in-bank", "The bank has accepted seed of this donation already.")
    return withdraw(donation, by=by, at=at, reason=reason)


@transaction.atomic
def answer_line(
    *,
    line: DonationLine,
    by: Member,
    at: datetime.datetime,
    answer: str,
    packets_received: int | None = None,
    place: Place | None = None,
    reason: str = "",
    packets: Sequence[Packet] = (),
    with_letter: bool = False,
) -> DonationLine:
    """Accept a line into a place of the bank, decline it with a reason, or say it did not come.

    Accepted are the packets checked in by scan, and besides them the packets named, or else as many
    of the donor's packets in number order as make up `packets_received`. With a letter the donor
    is written to once the last line has its answer.
    """
    line = (
        DonationLine.objects.select_for_update(of=("self",))
        .select_related("donation", "lot")
        .get(pk=line.pk)
    )
    refuse_withdrawn(line.donation, "donation")
    if line.answer != Answer.WAITING:
        words = f"This line has been answered already: {line.get_answer_display()}."
        raise Refused("line-answered", words)
    scanned = checked_in(line)
    if answer == Answer.ACCEPTED:
        packets = packets or _packets_in_hand(line, packets_received, scanned)
        if packets:
            _take_in(line, packets, place, by=by, at=at)
        line.packets_received = scanned + len(packets)
    elif scanned:
        words = f"{scanned} packets of it are in the store: accept those, then discard what is bad."
        raise Refused("line-checked-in", words, field="answer")
    elif answer == Answer.DECLINED and not reason.strip():
        words = "Say why it is declined; the donor reads it."
        raise Refused("decline-why", words, field="reason")
    line.answer = answer
    line.declined_reason = reason.strip() if answer == Answer.DECLINED else ""
    line.answered_at, line.answered_by = at, by
    save_with_history(line, by=by)
    _mark_received(line.donation, by=by, at=at)
    if with_letter:
        _tell_donor(line.donation)
    return line


@transaction.atomic
def enter_donation_by_hand(
    *,
    donor: Member,
    by: Member,
    at: datetime.datetime,
    packets: int,
    seeds_each: int,
    place: Place,
    note: str = "",
    client_key: uuid.UUID | None = None,
    **lot_facts: Any,
) -> Donation:
    """Write down seed that came without records here: its lot is the bank's, its packets stored."""

    def make() -> Donation:
        donation = Donation(
            number=next_number("donation"),
            donor=donor,
            offered_at=at,
            received_at=at,
            received_by=by,
            note=note.strip(),
            client_key=client_key,
        )
        save_with_history(donation, by=by)
        lot = add_lot(raised_by=donor, owner=None, by=by, at=at, **lot_facts)
        make_packets(
            lot=lot,
            how_many=packets,
            seeds_each=seeds_each,
            by=by,
            at=at,
            place=place,
            note=donation.number,
        )
        line = DonationLine(
            donation=donation,
            lot=lot,
            packets_offered=packets,
            packets_received=packets,
            answer=Answer.ACCEPTED,
            answered_at=at,
            answered_by=by,
        )
        save_with_history(line, by=by)
        return donation

    return once(Donation, client_key, make)[0]


def refuse_offer(lot: Lot, packets: int, donor: Member) -> None:
    """Refuse packets that are not the donor's to give, or not in hand any more."""
    field = f"packets_{lot.number}"
    refuse_withdrawn(lot, "lot")
    if lot.owner_id != donor.pk:
        raise Refused("not-your-lot", f"{lot.number} is not your lot.", field=field)
    if packets < 1:
        raise Refused("offer-none", "Offer one packet or more.", field=field)
    in_hand = lot.packets.filter(state=Packet.State.WITH_MEMBER, holder=donor).count()
    waiting = DonationLine.objects.filter(
        lot=lot, answer=Answer.WAITING, donation__donor=donor, donation__withdrawn_at=None
    )
    promised = waiting.aggregate(packets=Sum("packets_offered"))["packets"] or 0
    if packets > in_hand - promised:
        already = f", of which {promised} are offered already" if promised else ""
        words = f"You have {in_hand} packets of {lot.number} in hand{already}."
        raise Refused("offer-short", words, field=field)


def _packets_in_hand(line: DonationLine, received: int | None, scanned: int) -> list[Packet]:
    how_many = (received or 0) - scanned
    if scanned and how_many <= 0:
        return []
    if how_many < 1:
        words = "Say how many packets came. None at all: 'not in the envelope'."
        raise Refused("received-none", words, field="packets_received")
    in_hand = line.lot.packets.filter(
        state=Packet.State.WITH_MEMBER, holder=line.donation.donor_id
    ).order_by("number")
    packets = list(in_hand[:how_many])
    if len(packets) < how_many:
        words = f"By the records the donor has only {len(packets)} packets of {line.lot.number}."
        raise Refused("received-too-many", words, field="packets_received")
    return packets


def _take_in(
    line: DonationLine,
    packets: Sequence[Packet],
    place: Place | None,
    *,
    by: Member,
    at: datetime.datetime,
) -> None:
    if place is None:
        raise Refused("place-missing", "Say where in the store they are put.", field="place")
    stray = next((packet for packet in packets if packet.lot_id != line.lot_id), None)
    if stray is not None:
        words = f"{stray.number} is not a packet of {line.lot.number}."
        raise Refused("other-lot", words, field="numbers")
    move_many(
        packets=packets,
        kind=Movement.Kind.RECEIVED,
        by=by,
        at=at,
        place=place,
        reference=line.donation.number,
    )


def _mark_received(donation: Donation, *, by: Member, at: datetime.datetime) -> None:
    if donation.received_at is None:
        donation.received_at, donation.received_by = at, by
        save_with_history(donation, by=by, why="first line answered")


def _tell_donor(donation: Donation) -> None:
    """Write to the donor once the last line has its answer."""
    lines = list(lines_of(donation))
    if any(line.answer == Answer.WAITING for line in lines):
        return
    mail_members(
        Letter(
            member=donation.donor,
            subject=f"Your seed has arrived: donation {donation.number}",
            template="bank/donation/answered_mail.txt",
            context={"donation": donation, "lines": lines},
        )
    )
