"""A first estimate of what one packet more for a member costs under the policy `even`.

The estimate decides nothing: the exact search begins from it and ends, whatever it was, at the
same answer. A good one leaves the search a few hundred packets to move, where it would have had
to place tens of thousands.

Every member has a price. Each line goes to those for whom rank and price together come cheapest;
who is given more packets than her price stands for becomes dearer, who is given fewer becomes
cheaper, and the lines choose anew. A member's step grows while she goes on in one direction and
shrinks when she turns (resilient propagation: Riedmiller and Braun, A direct adaptive method for
faster backpropagation learning, IEEE International Conference on Neural Networks, 1993).
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, compress
from operator import add

from seedbank.calc.allocation.network import Network

# Prices are whole numbers, so many to a rank. A step of evenness stands for a thousand ranks here:
# enough to come first, and little enough to be crossed in a few steps.
RANK = 4096
EVENNESS = 1000 * RANK
FIRST_STEP = 8 * RANK
# The draw's 24 bits less these leave a sixteenth of a rank.
DRAW_SHIFT = 16
MOST_ROUNDS = 32
# So many rounds in a row without a thirty-second part less to move, and it is enough.
PATIENCE = 6
# After so many rounds a line looks at its likeliest wishes only, so many times its packets.
ROUNDS_WITH_ALL = 8
WISHES_A_PACKET = 3
WISHES_AT_LEAST = 24


@dataclass(frozen=True, slots=True)
class _Offer:
    """A line's packets and the wishes for it: members and ranks side by side."""

    packets: int
    members: Sequence[int]
    ranks: Sequence[int]


@dataclass(frozen=True, slots=True)
class _Bidding:
    """What moves from round to round: each member's price, her last step and its direction.

    `slots` are what each further packet of a member costs; at the price `top` a member has all
    she may have, and a packet left on the shelf is as good.
    """

    slots: list[list[int]]
    top: int
    prices: list[int]
    steps: list[int]
    directions: list[int]


def estimate_prices(network: Network) -> list[int]:
    """Return for each member about what one packet more for her costs, as the network counts."""
    slots = [
        [cost // network.weights.evenness * EVENNESS for cost in costs]
        for costs in network.slot_costs
    ]
    dearest = max((costs[-1] for costs in slots if costs), default=0)
    prices = _water_level(network, slots)
    bidding = _Bidding(
        slots, dearest + EVENNESS, prices, [FIRST_STEP] * len(prices), [0] * len(prices)
    )
    offers, sure = _offers(network, bidding)
    best, least, last, waited = list(prices), sum(network.supply) + 1, 0, 0
    for round_number in range(MOST_ROUNDS):
        if round_number == ROUNDS_WITH_ALL:
            offers = [_likeliest(offer, bidding) for offer in offers]
        chosen = _choose(offers, sure, bidding)
        seen = list(prices)
        to_move = _turn_prices(chosen, bidding)
        waited = waited + 1 if to_move * 32 > last * 31 else 0
        last = to_move
        if to_move < least:
            best, least = seen, to_move
        if waited == PATIENCE or not to_move:
            break
    return [_as_network_counts(price, bidding, network) for price in best]


def _water_level(network: Network, slots: list[list[int]]) -> list[int]:
    """Return prices as if every packet could go to whoever has fewest, as far as lists reach."""
    reach = [
        costs[: len(network.entering[network.first_member + member])]
        for member, costs in enumerate(slots)
    ]
    poured = sorted(chain.from_iterable(reach))
    level = poured[min(sum(network.supply), len(poured)) - 1] if poured else 0
    return [min(level, costs[-1]) if costs else 0 for costs in reach]


def _offers(network: Network, bidding: _Bidding) -> tuple[list[_Offer], Counter[int]]:
    """Return what lines have to choose about, and what everybody gets for sure, by member."""
    may_be_full = [
        len(network.entering[network.first_member + member]) > len(costs)
        for member, costs in enumerate(bidding.slots)
    ]
    offers, sure = [], Counter[int]()
    for line, packets in enumerate(network.supply):
        arcs = _wishes_for(network, line) if packets else []
        members = [network.member_of(arc) for arc in arcs]
        if packets >= len(arcs) and not any(may_be_full[member] for member in members):
            sure.update(members)
            continue
        offers.append(_Offer(packets, members, _ranks(network, arcs)))
    return offers, sure


def _ranks(network: Network, arcs: Sequence[int]) -> list[int]:
    """Return what wishes cost here: ranks, and a sixteenth of one at most for the draw."""
    rank, costs = network.weights.rank, network.costs
    return [costs[arc] // rank * RANK + (costs[arc] % rank >> DRAW_SHIFT) for arc in arcs]


def _likeliest(offer: _Offer, bidding: _Bidding) -> _Offer:
    """Return an offer with its cheapest wishes only."""
    enough = max(WISHES_AT_LEAST, offer.packets * WISHES_A_PACKET)
    if len(offer.members) <= enough:
        return offer
    bids = list(map(add, offer.ranks, map(bidding.prices.__getitem__, offer.members)))
    near = list(map(sorted(bids)[enough - 1].__ge__, bids))
    return _Offer(
        offer.packets, tuple(compress(offer.members, near)), tuple(compress(offer.ranks, near))
    )


def _wishes_for(network: Network, line: int) -> list[int]:
    """Return the wishes for a line, those of members who share a household's cap among them."""
    arcs = network.leaving[line]
    shares = dict.fromkeys(
        network.heads[arc] for arc in arcs if network.heads[arc] < network.first_member
    )
    if not shares:
        return arcs
    own = [arc for arc in arcs if network.heads[arc] >= network.first_member]
    return [*own, *(arc for share in shares for arc in network.leaving[share])]


def _choose(offers: Sequence[_Offer], sure: Counter[int], bidding: _Bidding) -> Counter[int]:
    """Let each line go to those for whom it comes cheapest; return the packets by member."""
    price_of = bidding.prices.__getitem__
    chosen = sure.copy()
    for offer in offers:
        bids = list(map(add, offer.ranks, map(price_of, offer.members)))
        dearest = bidding.top
        if offer.packets < len(bids):
            dearest = min(dearest, sorted(bids)[offer.packets - 1])
        chosen.update(compress(offer.members, map(dearest.__ge__, bids)))
    return chosen


def _turn_prices(chosen: Counter[int], bidding: _Bidding) -> int:
    """Move each price towards what her packets stand for; return how many packets are amiss."""
    amiss = 0
    prices, steps, directions = bidding.prices, bidding.steps, bidding.directions
    for member, costs in enumerate(bidding.slots):
        packets, price = chosen[member], prices[member]
        at_least = at_most = bidding.top
        if packets <= len(costs):
            at_least = costs[packets - 1] if packets else 0
            at_most = costs[packets] if packets < len(costs) else bidding.top
        if at_least <= price <= at_most:
            directions[member] = 0
            steps[member] = max(1, steps[member] // 2)
            continue
        amiss += 1
        direction = 1 if price < at_least else -1
        if direction == directions[member]:
            steps[member] = steps[member] * 8 // 5
        elif directions[member]:
            steps[member] = max(1, steps[member] * 2 // 5)
        directions[member] = direction
        step = steps[member]
        if direction > 0:
            prices[member] = min(at_least, price + step)
        else:
            prices[member] = max(at_most, price - step)
    return amiss


def _as_network_counts(price: int, bidding: _Bidding, network: Network) -> int:
    """Return a price in the network's costs, where every weight is far above the next.

    That is the nearest step of evenness, the nearest rank from there, and the draw for the rest.
    """
    if price > bidding.top - EVENNESS // 2:
        base, rest = network.left_over_cost, price - bidding.top
    else:
        steps = (price + EVENNESS // 2) // EVENNESS
        base, rest = steps * network.weights.evenness, price - steps * EVENNESS
    ranks = (rest + RANK // 2) // RANK
    return base + ranks * network.weights.rank + ((rest - ranks * RANK) << DRAW_SHIFT)
