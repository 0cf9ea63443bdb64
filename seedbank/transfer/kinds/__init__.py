"""Every kind of table the service takes in, in the order in which one needs another."""

from seedbank.transfer.kind import Kind
from seedbank.transfer.kinds.crosses import CROSSES
from seedbank.transfer.kinds.donations import DONATIONS
from seedbank.transfer.kinds.exchange import LINES, ROUNDS, WISHES
from seedbank.transfer.kinds.flowers import CHECKS, HARVESTS, POLLINATIONS
from seedbank.transfer.kinds.giving import OFFERS
from seedbank.transfer.kinds.passports import PASSPORTS
from seedbank.transfer.kinds.people import FLAGS, MEMBERS, PLACES, TAXA
from seedbank.transfer.kinds.plants import PLANTS
from seedbank.transfer.kinds.seed import LOTS, PACKETS
from seedbank.transfer.kinds.sowing import COUNTS, SOWINGS

KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        MEMBERS,
        TAXA,
        FLAGS,
        PLACES,
        PLANTS,
        CROSSES,
        POLLINATIONS,
        CHECKS,
        HARVESTS,
        LOTS,
        PASSPORTS,
        PACKETS,
        DONATIONS,
        OFFERS,
        SOWINGS,
        COUNTS,
        ROUNDS,
        LINES,
        WISHES,
    )
}
