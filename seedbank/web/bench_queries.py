"""The bench: a grower's flowers, seed and pots that wait for a hand today."""

import datetime
from dataclasses import dataclass

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.models import Harvest
from crosses.queries.watch import WatchList, watch_list
from crosses.queries.written import cross_formula
from seedbank.bank.models import Lot
from seedbank.bank.queries import harvests_without_lot, lots_without_packets
from seedbank.members.models import Member
from seedbank.sowings.queries.pages import counts_due, lots_to_sow

# Of each kind of seed so many stand on the bench; the rest is a link away.
FEW = 4


@dataclass(frozen=True)
class Bench:
    """What waits, a few of each kind of seed and how many there are."""

    watch: WatchList
    to_clean: tuple[tuple[Harvest, str], ...]
    to_clean_in_all: int
    to_pack: tuple[Lot, ...]
    to_pack_in_all: int
    to_sow: tuple[Lot, ...]
    to_sow_in_all: int
    pots_to_count: int
    has_begun: bool

    @property
    def is_clear(self) -> bool:
        """Whether nothing is lost or late if nobody comes today."""
        return not (
            self.watch.now or self.to_clean_in_all or self.to_pack_in_all or self.pots_to_count
        )


def bench_of(
    member: Member, today: datetime.date, at: datetime.datetime, *, days_to_next_visit: int = 1
) -> Bench:
    harvests = harvests_without_lot(member)
    to_pack, to_sow = lots_without_packets(member), lots_to_sow(member)
    return Bench(
        watch=watch_list(member, today, at, days_to_next_visit=days_to_next_visit),
        to_clean=tuple((harvest, cross_formula(harvest.cross)) for harvest in harvests[:FEW]),
        to_clean_in_all=harvests.count(),
        to_pack=tuple(to_pack[:FEW]),
        to_pack_in_all=to_pack.count(),
        to_sow=tuple(to_sow[:FEW]),
        to_sow_in_all=to_sow.count(),
        pots_to_count=counts_due(member, today),
        has_begun=plants_visible_to(member).filter(keeper=member).exists()
        or crosses_visible_to(member).filter(grower=member).exists(),
    )
