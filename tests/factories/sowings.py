"""Sowings and counts, the smallest valid ones; made by the acts that make them in life."""

import datetime
from typing import Any

from seedbank.bank.models import Packet
from seedbank.members.models import Member
from seedbank.sowings.actions.count import record_count
from seedbank.sowings.actions.sowing import sow
from seedbank.sowings.models import Count, Replicate, Sowing
from tests.conftest import NOON, TODAY
from tests.factories.bank import LotFactory, packets_of

SOWN_ON = TODAY - datetime.timedelta(days=40)


def packet_in_hand(grower: Member, *, seeds: int = 120, **lot_facts: Any) -> Packet:
    """A packet of the grower's own lot."""
    return packets_of(LotFactory(raised_by=grower, **lot_facts), seeds_each=seeds)[0]


def make_sowing(grower: Member, packet: Packet | None = None, **facts: Any) -> Sowing:
    """Sow a whole packet forty days ago, unless it is said otherwise."""
    packet = packet or packet_in_hand(grower)
    wanted: dict[str, Any] = {"sown_on": SOWN_ON, "seeds_sown": packet.seeds_left} | facts
    return sow(packet=packet, grower=grower, by=grower, at=NOON, **wanted)


def pot_of(sowing: Sowing, position: int = 1) -> Replicate:
    return sowing.replicates.get(position=position)


def count_pot(pot: Replicate, day: int, number: int, **facts: Any) -> Count:
    """Count a pot on a day after sowing."""
    return record_count(
        replicate=pot,
        by=pot.sowing.grower,
        at=NOON,
        counted_on=pot.sowing.sown_on + datetime.timedelta(days=day),
        number=number,
        **facts,
    )


def counted_sowing(grower: Member, came: int, sown: int, **facts: Any) -> Sowing:
    """A sowing of its own packet with one look, of which so many came up."""
    lot = facts.pop("lot", None) or LotFactory(raised_by=grower)
    packet = packets_of(lot, seeds_each=sown)[0]
    sowing = make_sowing(grower, packet, **facts)
    count_pot(pot_of(sowing), 14, came)
    return sowing
