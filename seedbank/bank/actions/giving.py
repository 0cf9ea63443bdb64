"""Give seed in as few steps as there are: from a harvest, from loose seed, or written down by hand.

Each of them ends as a line of the donor's open envelope: the last offer that has not arrived.
"""

import datetime
import uuid
from typing import Any

from django.db import transaction

from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from crosses.models import Harvest
from seedbank.bank.actions.donation import offer, refuse_offer
from seedbank.bank.actions.lot import add_lot, make_lot_from_harvest
from seedbank.bank.actions.packet import make_packets
from seedbank.bank.models import Donation, DonationLine, Lot
from seedbank.members.models import Member


@transaction.atomic
def give_harvest(
    *,
    harvest: Harvest,
    donor: Member,
    by: Member,
    at: datetime.datetime,
    how_many: int,
    seeds_each: int,
    client_key: uuid.UUID | None = None,
) -> Donation:
    """Make a harvest a lot, fill packets of it and offer them, all at one go."""
    lot = make_lot_from_harvest(harvest=harvest, by=by, at=at, client_key=client_key)
    return give_loose(lot=lot, donor=donor, by=by, at=at, how_many=how_many, seeds_each=seeds_each)


@transaction.atomic
def give_by_hand(
    *,
    donor: Member,
    by: Member,
    at: datetime.datetime,
    packets: int,
    seeds_each: int,
    client_key: uuid.UUID | None = None,
    **lot_facts: Any,
) -> Donation:
    """Write seed down that has no harvest here, and offer it."""
    lot = add_lot(raised_by=donor, owner=donor, by=by, at=at, client_key=client_key, **lot_facts)
    return give_loose(lot=lot, donor=donor, by=by, at=at, how_many=packets, seeds_each=seeds_each)


@transaction.atomic
def give_loose(
    *, lot: Lot, donor: Member, by: Member, at: datetime.datetime, how_many: int, seeds_each: int
) -> Donation:
    """Fill packets of a lot that is in none yet, and put them in the envelope."""
    # A second tap waits here, and then finds the packets in the envelope.
    lot = Lot.objects.select_for_update(of=("self",)).get(pk=lot.pk)
    envelope = _open_envelope(donor)
    if envelope is not None and envelope.lines.filter(lot=lot).exists():
        return envelope
    if lot.packets.exists():
        words = f"{lot.number} is in packets already: offer of those."
        raise Refused("lot-in-packets", words)
    make_packets(lot=lot, how_many=how_many, seeds_each=seeds_each, by=by, at=at)
    if envelope is None:
        return offer(donor=donor, by=by, at=at, lines=[(lot, how_many)])
    refuse_offer(lot, how_many, donor)
    line = DonationLine(donation=envelope, lot=lot, packets_offered=how_many)
    save_with_history(line, by=by)
    return envelope


def _open_envelope(donor: Member) -> Donation | None:
    """Return the donor's last offer that is still at home, locked against the keeper's answers."""
    return (
        Donation.objects.select_for_update()
        .filter(donor=donor, received_at=None, withdrawn_at=None)
        .order_by("-offered_at", "-pk")
        .first()
    )
