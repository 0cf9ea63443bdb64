"""Every kind of table the service takes in, in the order in which one needs another."""

from seedbank.transfer.importing import Kind
from seedbank.transfer.kinds.exchange import LINES, ROUNDS, WISHES
from seedbank.transfer.kinds.giving import OFFERS
from seedbank.transfer.kinds.growing import CHECKS, CROSSES, HARVESTS, PLANTS, POLLINATIONS
from seedbank.transfer.kinds.people import FLAGS, MEMBERS, PLACES, TAXA
from seedbank.transfer.kinds.seed import DONATIONS, LOTS, PACKETS
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
