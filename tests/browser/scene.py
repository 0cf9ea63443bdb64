"""What the browser meets is set up by the acts that make it in life, at days before the real today."""

import datetime
from dataclasses import dataclass

from crosses.actions.capsule import record_check
from crosses.actions.harvest import log_harvest
from crosses.actions.pollination import log_pollination
from crosses.base.clock import now
from seedbank.bank.actions.donation import offer
from seedbank.bank.actions.lot import make_lot_from_harvest
from seedbank.bank.actions.packet import make_packets
from seedbank.bank.models import Lot, Place
from seedbank.exchange.actions.allocation import announce, freeze_inputs, run_allocation
from seedbank.exchange.actions.listing import add_lines, publish_list
from seedbank.exchange.actions.round import open_round
from seedbank.exchange.actions.wishes import save_wishes
from seedbank.exchange.models import Round
from seedbank.members.models import Member
from seedbank.sowings.actions.count import record_count
from seedbank.sowings.actions.sowing import sow
from tests.factories.bank import LotFactory, PlaceFactory
from tests.factories.crosses import make_cross


def days_ago(days: int) -> datetime.datetime:
    return now() - datetime.timedelta(days=days)


def store_of_lots(keeper: Member, *names: str, packets: int = 2) -> list[Lot]:
    """Lots of the bank, each with its packets at a place of its own."""
    return [_stored(keeper, name, packets, PlaceFactory()) for name in names]


def _stored(keeper: Member, name: str, packets: int, place: Place) -> Lot:
    lot = LotFactory(name_text=name, owner=None, raised_by=keeper)
    make_packets(lot=lot, how_many=packets, seeds_each=25, by=keeper, at=days_ago(60), place=place)
    return lot


def round_of(
    keeper: Member, lots: list[Lot], *, opened: int, closed: int, slug: str = "seed-exchange"
) -> Round:
    """A round whose list opened and whose wishes closed that many days ago; negative is to come."""
    found = open_round(
        by=keeper,
        at=days_ago(50),
        slug=slug,
        name="Seed exchange",
        list_opens_at=days_ago(opened),
        wishes_close_at=days_ago(closed),
        public_value_name="Numbers of the state lottery after closing day",
    )
    add_lines(round=found, lots=lots, by=keeper, at=days_ago(45))
    return publish_list(round=found, by=keeper, at=days_ago(44))


def announced_round(keeper: Member, lots: list[Lot], wishes: dict[Member, list[int]]) -> Round:
    """A round that is shared out, so that its parcels can be packed."""
    found = round_of(keeper, lots, opened=40, closed=20)
    for member, lines in wishes.items():
        save_wishes(round=found, member=member, by=member, at=days_ago(30), main=lines, reserve=())
    freeze_inputs(round=found, by=keeper, at=days_ago(19))
    run_allocation(round=found, public_value="4 8 15", by=keeper, at=days_ago(18))
    return announce(round=found, by=keeper, at=days_ago(17))


@dataclass(frozen=True)
class Year:
    """The numbers of one thread from the plant to the gift."""

    plant: str
    cross: str
    flower: str
    harvest: str
    lot: str
    packet: str
    sowing: str
    donation: str


def grown_and_given(grower: Member) -> Year:
    """A flower that waits, and beside it a thread that has gone on to a counted pot and a gift."""
    cross = make_cross(grower, season=days_ago(100).year)
    pollination, waiting = (
        log_pollination(
            cross=cross, by=grower, at=days_ago(100), pollinated_on=days_ago(100).date(), flowers=6
        )
        for _ in range(2)
    )
    for flower in (pollination, waiting):
        record_check(
            pollination=flower,
            by=grower,
            at=days_ago(60),
            seen_on=days_ago(60).date(),
            kind="swelling",
            flowers=5,
        )
    harvest = log_harvest(
        cross=cross,
        by=grower,
        at=days_ago(50),
        harvested_on=days_ago(50).date(),
        capsules=[(pollination, 4)],
        seed_counting="counted",
        seeds=120,
    )
    lot = make_lot_from_harvest(harvest=harvest, by=grower, at=days_ago(49))
    packets = make_packets(lot=lot, how_many=3, seeds_each=25, by=grower, at=days_ago(48))
    sowing = sow(
        packet=packets[0],
        grower=grower,
        by=grower,
        at=days_ago(40),
        sown_on=days_ago(40).date(),
        seeds_sown=25,
    )
    for days, number in ((25, 4), (20, 6), (12, 1)):
        record_count(
            replicate=sowing.replicates.get(),
            by=grower,
            at=days_ago(days),
            counted_on=days_ago(days).date(),
            number=number,
        )
    donation = offer(donor=grower, by=grower, at=days_ago(5), lines=[(lot, 1)])
    return Year(
        plant=cross.seed_parent.number,
        cross=cross.number,
        flower=waiting.number,
        harvest=harvest.number,
        lot=lot.number,
        packet=packets[0].number,
        sowing=sowing.number,
        donation=donation.number,
    )
