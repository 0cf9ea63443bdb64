"""The keeper takes an envelope in: packet by packet as they are scanned, names put right on the way."""

import datetime

from django.db import transaction

from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from crosses.models import Taxon
from seedbank.bank.actions.donation import answer_line
from seedbank.bank.actions.lot import change_lot
from seedbank.bank.actions.packet import move
from seedbank.bank.models import Donation, DonationLine, Movement, Packet, Place
from seedbank.bank.queries import checked_in
from seedbank.members.models import Member

Answer = DonationLine.Answer


@transaction.atomic
def check_in(
    *,
    donation: Donation,
    number: str,
    place: Place,
    by: Member,
    at: datetime.datetime,
) -> DonationLine:
    """Put one scanned packet of an envelope into the store; with the last of a line it is accepted."""
    packet = Packet.objects.select_related("lot").filter(number=number).first()
    line = (
        DonationLine.objects.select_for_update(of=("self",))
        .select_related("donation", "lot")
        .filter(donation=donation, lot=packet.lot_id if packet else None)
        .first()
    )
    if packet is None or line is None:
        words = f"{number} is no packet of this envelope. Lay it aside and ask the donor."
        raise Refused("not-in-envelope", words, field="number")
    if _is_checked_in(packet, donation):
        words = f"{number} has been checked in already."
        raise Refused("checked-in", words, field="number")
    if line.answer != Answer.WAITING:
        words = f"{line.lot.number} has been answered already: {line.get_answer_display()}."
        raise Refused("line-answered", words, field="number")
    move(
        packet=packet,
        kind=Movement.Kind.RECEIVED,
        by=by,
        at=at,
        place=place,
        reference=donation.number,
    )
    if checked_in(line) >= line.packets_offered:
        return answer_line(line=line, by=by, at=at, answer=Answer.ACCEPTED, with_letter=True)
    return line


@transaction.atomic
def correct_name(
    *, line: DonationLine, by: Member, at: datetime.datetime, name_text: str, taxon: Taxon | None
) -> DonationLine:
    """Put right what seed is called before it is listed; the donor reads what it was called."""
    line = (
        DonationLine.objects.select_for_update(of=("self",)).select_related("lot").get(pk=line.pk)
    )
    if not name_text.strip():
        raise Refused("name-missing", "Write the name as it should be.", field="name_text")
    written = line.lot.name_text
    if name_text.strip() != written:
        line.name_as_offered = line.name_as_offered or written
        save_with_history(line, by=by, why="Name corrected.")
    change_lot(
        lot=line.lot,
        by=by,
        at=at,
        why="Name corrected when it was checked in.",
        name_text=name_text.strip(),
        taxon=taxon,
    )
    return line


def _is_checked_in(packet: Packet, donation: Donation) -> bool:
    return packet.movements.filter(kind=Movement.Kind.RECEIVED, reference=donation.number).exists()
