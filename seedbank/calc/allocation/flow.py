"""A flow of least cost, found from an estimate of its prices by cheapest ways.

By the estimate every line goes to those for whom it comes cheapest; then some members have a
packet more or less than their price stands for. Packet by packet these are put right along the
cheapest way, over members who each change one packet for another, and the prices follow. Cheapest
augmenting paths with prices are textbook: Ahuja, Magnanti and Orlin, Network Flows, 1993,
chapter 9. Whatever the estimate was, the flow that comes out is one of least cost.
"""

import heapq
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from seedbank.calc.allocation.network import Network

# A way goes over a line's likeliest wishes, so many times its packets.
NEAR_A_PACKET = 3
NEAR_AT_LEAST = 24

# What is said of an arc: it is free, carries a packet, or is not looked at for now.
FREE, USED, SET_ASIDE = 0, 1, 2


@dataclass(frozen=True, slots=True)
class _Direction:
    """The network read forwards, from a packet too many, or backwards, from one too few.

    An arc that is not used could carry a packet on, one that is used could give it back; each
    kind with the nodes where its arcs end. `end_costs` says what it costs to end a way at a node,
    None where no way can end. `sign` is 1 forwards and -1 backwards; prices are those of the
    flow times it.
    """

    sign: int
    prices: list[int]
    unused: Sequence[Sequence[int]]
    unused_ends: Sequence[int]
    used: Sequence[dict[int, None]]
    used_ends: Sequence[int]
    end_costs: list[int | None]


class Flow:
    """A flow whose prices hold; what is amiss are members with too many packets or too few.

    The prices hold, at every moment, for every arc that could carry one packet more: cost plus
    price of the tail less price of the head is 0 or above; an arc in use counts backwards. The
    end of every way, where packets are handed over or left on the shelf, has the price 0.
    """

    def __init__(self, network: Network, estimates: Sequence[int]) -> None:
        nodes = len(network.node_names)
        self._arc_states = bytearray(len(network.tails))
        self.prices = [0] * network.first_member + [-estimate for estimate in estimates]
        self._network = network
        # Longer than any way: there and back over every arc.
        self._too_long = 4 * (network.left_over_cost + sum(network.costs))
        self._shelf = [0] * len(network.supply)
        self._handed_over = [0] * len(network.slot_costs)
        self._too_many = [0] * nodes
        self._near = list(network.leaving)
        self._used_into: list[dict[int, None]] = [{} for _ in range(nodes)]
        self._used_from: list[dict[int, None]] = [{} for _ in range(nodes)]
        for line in range(len(network.supply)):
            self._choose(line)
        for member, estimate in enumerate(estimates):
            self._hand_over(member, estimate)
        self._forwards = _Direction(
            1,
            self.prices,
            self._near,
            network.heads,
            self._used_into,
            network.tails,
            [None] * nodes,
        )
        self._backwards = _Direction(
            -1,
            [-price for price in self.prices],
            network.entering,
            network.tails,
            self._used_from,
            network.heads,
            [None] * nodes,
        )
        for node in range(nodes):
            self._note_end_costs(node)

    def is_used(self, arc: int) -> bool:
        """Say whether an arc carries a packet."""
        return self._arc_states[arc] == USED

    def put_right(self) -> None:
        """Move every packet that is amiss along the cheapest way, until no price is out of step.

        The ways go over each line's likeliest wishes. In the end all wishes are looked at: one
        that would have made a way cheaper is met, and what that puts amiss is put right again.
        """
        while True:
            for way, back in (
                (self._forwards, self._backwards),
                (self._backwards, self._forwards),
            ):
                for node in range(len(self.prices)):
                    while self._too_many[node] * way.sign > 0:
                        self._move(node, way, back)
            overlooked = self._overlooked()
            if not overlooked:
                return
            for arc in overlooked:
                tail, head = self._turn(arc)
                self._near[tail].append(arc)
                self._too_many[tail] -= 1
                self._too_many[head] += 1

    def _overlooked(self) -> list[int]:
        """Return the wishes that are not met although their price is out of step."""
        costs, heads, prices = self._network.costs, self._network.heads, self.prices
        found = []
        for line, arcs in enumerate(self._network.leaving[: len(self._shelf)]):
            if len(self._near[line]) < len(arcs):
                price = prices[line]
                found += [
                    arc
                    for arc in arcs
                    if costs[arc] + price < prices[heads[arc]]
                    and self._arc_states[arc] == SET_ASIDE
                ]
        return found

    def _choose(self, line: int) -> None:
        """Let a line go to those for whom it comes cheapest, and price it by the last of them."""
        network = self._network
        arcs = network.leaving[line]
        behind = self._behind_households(arcs)
        if behind is None:
            behind, wishes = {}, arcs
        else:
            arcs = [arc for arc in arcs if arc in behind]
            wishes = [behind[arc] for arc in arcs]
        bids = self._bids(wishes)
        ranked = sorted(range(len(arcs)), key=bids.__getitem__)
        taken = [
            place
            for place in ranked[: network.supply[line]]
            if bids[place] <= network.left_over_cost
        ]
        for place in taken:
            self._turn(arcs[place])
            if wishes[place] != arcs[place]:
                self._turn(wishes[place])
        self._shelf[line] = network.supply[line] - len(taken)
        enough = max(NEAR_AT_LEAST, network.supply[line] * NEAR_A_PACKET)
        if len(arcs) > enough and not behind:
            self._near[line] = [arcs[place] for place in ranked[:enough]]
            for place in ranked[enough:]:
                self._arc_states[arcs[place]] = SET_ASIDE
        dearest = bids[taken[-1]] if taken else 0
        self.prices[line] = -(network.left_over_cost if self._shelf[line] else dearest)
        for node in {network.heads[arc] for arc in network.leaving[line]} if behind else ():
            if node < network.first_member:
                self.prices[node] = self._household_price(line, node)

    def _bids(self, wishes: Sequence[int]) -> list[int]:
        """Return what it costs to meet each wish: its rank and the price of its member."""
        costs, heads, prices = self._network.costs, self._network.heads, self.prices
        return [costs[wish] - prices[heads[wish]] for wish in wishes]

    def _behind_households(self, arcs: Sequence[int]) -> dict[int, int] | None:
        """Return the wish behind each of a line's arcs; None if no household shares its cap.

        Of the packets a household may have, the first stands for the cheapest of its wishes.
        """
        network = self._network
        households: dict[int, list[int]] = {}
        if len(network.supply) < network.first_member:
            for arc in arcs:
                if network.heads[arc] < network.first_member:
                    households.setdefault(network.heads[arc], []).append(arc)
        if not households:
            return None
        behind = {arc: arc for arc in arcs if network.heads[arc] >= network.first_member}
        for household, its_arcs in households.items():
            wishes = network.leaving[household]
            bids = self._bids(wishes)
            cheapest = sorted(range(len(wishes)), key=bids.__getitem__)
            behind.update(zip(its_arcs, (wishes[place] for place in cheapest), strict=False))
        return behind

    def _household_price(self, line: int, household: int) -> int:
        """Return the price of a household: its line's, or its own once it has all it may have."""
        if len(self._used_into[household]) < len(self._network.entering[household]):
            return self.prices[line]
        return -max(self._bids(list(self._used_from[household])))

    def _hand_over(self, member: int, estimate: int) -> None:
        """Hand a member what she was given, as far as that stands for her price."""
        node = self._network.first_member + member
        slots = self._network.slot_costs[member]
        packets = len(self._used_into[node])
        at_least, at_most = bisect_left(slots, estimate), bisect_right(slots, estimate)
        self._handed_over[member] = min(max(packets, at_least), at_most)
        self._too_many[node] = packets - self._handed_over[member]

    def _move(self, start: int, way: _Direction, back: _Direction) -> None:
        """Move one packet from where it is amiss along the cheapest way."""
        settled, came_by, end, length = self._cheapest_way(start, way)
        for node, distance in settled.items():
            way.prices[node] += distance - length
            back.prices[node] = -way.prices[node]
        self._too_many[start] -= way.sign
        if self._too_many[end] * way.sign < 0:
            self._too_many[end] += way.sign
        elif end < len(self._shelf):
            self._shelf[end] += way.sign
        else:
            self._handed_over[end - self._network.first_member] += way.sign
        self._note_end_costs(end)
        node = end
        while node != start:
            tail, head = self._turn(came_by[node])
            node = tail if node == head else head

    def _cheapest_way(
        self, start: int, way: _Direction
    ) -> tuple[dict[int, int], dict[int, int], int, int]:
        """Return settled nodes with distances, the arc each node was reached by, end, length."""
        prices, end_costs = way.prices, way.end_costs
        distances = {start: 0}
        settled: dict[int, int] = {}
        came_by: dict[int, int] = {}
        waiting = [(0, start)]
        end, at_start = start, end_costs[start]
        length = self._too_long if at_start is None else at_start + prices[start]
        while waiting:
            distance, node = heapq.heappop(waiting)
            if distance >= length:
                break
            if node in settled:
                continue
            settled[node] = distance
            for further, neighbour, arc in self._steps(node, distance, length, way):
                if further >= distances.get(neighbour, length):
                    continue
                distances[neighbour] = further
                came_by[neighbour] = arc
                heapq.heappush(waiting, (further, neighbour))
                to_end = end_costs[neighbour]
                whole = length if to_end is None else further + to_end + prices[neighbour]
                if self._too_many[neighbour] * way.sign < 0:
                    whole = further
                if whole < length:
                    end, length = neighbour, whole
        return settled, came_by, end, length

    def _steps(
        self, node: int, distance: int, length: int, way: _Direction
    ) -> list[tuple[int, int, int]]:
        """Return distance, neighbour and arc for each step from a node that is under `length`."""
        prices, costs, states = way.prices, self._network.costs, self._arc_states
        here = distance + prices[node]
        beyond = length - here
        ends = way.unused_ends
        steps = [
            (here + costs[arc] - prices[ends[arc]], ends[arc], arc)
            for arc in way.unused[node]
            if costs[arc] - prices[ends[arc]] < beyond and not states[arc]
        ]
        ends = way.used_ends
        steps += [(here - costs[arc] - prices[ends[arc]], ends[arc], arc) for arc in way.used[node]]
        return steps

    def _turn(self, arc: int) -> tuple[int, int]:
        """Use an arc, or take its packet back; return where it leads from and to."""
        tail, head = self._network.tails[arc], self._network.heads[arc]
        is_free = self._arc_states[arc] != USED
        self._arc_states[arc] = USED if is_free else FREE
        if is_free:
            self._used_into[head][arc] = None
            self._used_from[tail][arc] = None
        else:
            del self._used_into[head][arc]
            del self._used_from[tail][arc]
        return tail, head

    def _note_end_costs(self, node: int) -> None:
        """Note what one packet more, or one fewer, handed over or left at a node would cost."""
        network = self._network
        more: int | None = None
        fewer: int | None = None
        if node < len(self._shelf):
            more = network.left_over_cost
            fewer = -more if self._shelf[node] else None
        elif node >= network.first_member:
            member = node - network.first_member
            slots, packets = network.slot_costs[member], self._handed_over[member]
            more = slots[packets] if packets < len(slots) else None
            fewer = -slots[packets - 1] if packets else None
        self._forwards.end_costs[node] = more
        self._backwards.end_costs[node] = fewer
