"""The policy `even`: as many packets as can be, spread evenly, then by rank.

A flow of least cost, in whole numbers throughout. A member's k-th packet costs
(2k - 1) x (least common multiple of all allowances / her allowance) x 1000, so that the sum of
squares of the packets, each against its allowance, is least; a wish costs its place in the list,
counted from 0. All costs are multiplied by 2 ** 24 and a number below that, drawn from the
lottery, decides between answers that are otherwise alike.

The packets of each line are brought in one by one, each along the cheapest way: to a member who
wishes for the line, or by members who each change one packet for another, to somebody with room.
Cheapest augmenting paths with prices are textbook: Ahuja, Magnanti and Orlin, Network Flows,
1993, chapter 9.

The prices that come out prove the answer: for every wish that was met, cost plus price of the
line less price of the member is 0 or below, for every other one 0 or above; `checker` reads them
so. The fewest packets anybody has are more than under `turns`; first choices are fewer, and a
member who knows the others' lists can gain by misstating her own.
"""

import heapq
from collections.abc import Sequence

from crosses.calc.errors import BadInput
from seedbank.calc.allocation.model import Inputs, Packet, Result
from seedbank.calc.allocation.network import Network, WishArc, build_network
from seedbank.calc.allocation.workings import Workings, prepare, unlisted_packets

ENGINE = "even 1, cheapest paths in whole numbers"


def share_evenly(inputs: Inputs) -> Result:
    """Share out the packets so that as many as can be go out, and as evenly as can be.

    Time grows with the competition for scarce lines: about a tenth of a second for 200 members,
    some ten to twenty seconds for 2,000 with 3,000 lines.

    Raises
    ------
    BadInput
        If the inputs contradict themselves, or a packet is owed to somebody: what is owed is
        made good by turns.
    """
    if inputs.make_good:
        raise BadInput(
            "A packet that is owed is made good by turns; choose that policy.", field="make_good"
        )
    work = prepare(inputs)
    network = build_network(work)
    flow = _Flow(network)
    for line in _least_contested_first(network):
        for _ in range(network.supply[line]):
            if not flow.bring_in(line):
                break
    taken = [wish for wish, used in zip(network.wishes, flow.is_used, strict=True) if wish and used]
    return _result(work, network, taken, flow.prices)


def _least_contested_first(network: Network) -> list[int]:
    """Return the lines in an order that keeps the ways short: any order gives the same answer."""
    wishes = [0] * network.first_member
    for tail, _, _ in network.arcs:
        wishes[tail] += 1
    lines = [line for line, packets in enumerate(network.supply) if packets]
    return sorted(lines, key=lambda line: (wishes[line] / network.supply[line], line))


class _Flow:
    """A flow that is the cheapest for the packets brought in so far.

    `prices` hold, at every moment, for every arc that could carry one packet more: cost plus
    price of the tail less price of the head is 0 or above; an arc in use counts backwards. The
    end of every way has the price 0.
    """

    def __init__(self, network: Network) -> None:
        self.is_used = [False] * len(network.arcs)
        self.prices = _first_prices(network)
        self._network = network
        self._leaving: list[list[tuple[int, int, int]]] = [[] for _ in network.node_names]
        for arc, (tail, head, cost) in enumerate(network.arcs):
            self._leaving[tail].append((arc, head, cost))
        self._used_into: list[dict[int, tuple[int, int]]] = [{} for _ in network.node_names]
        self._placed = [0] * len(network.supply)
        self._slots = [costs[::-1] for costs in network.slot_costs]
        self._first_member = network.first_member
        # What it costs to end a way at each node; None where no way can end.
        self._cost_to_end: list[int | None] = [None] * network.first_member
        self._cost_to_end += [costs[0] if costs else None for costs in network.slot_costs]

    def bring_in(self, line: int) -> bool:
        """Bring in one packet of a line; say whether a packet of that line found a place."""
        settled, came_by, end, length = self._cheapest_way(line)
        for node, distance in settled.items():
            self.prices[node] += distance - length
        if end == line:
            return False
        if end >= self._first_member:
            slots = self._slots[end - self._first_member]
            slots.pop()
            self._cost_to_end[end] = slots[-1] if slots else None
        else:
            self._placed[end] -= 1
            self._cost_to_end[end] = self._network.left_over_cost if self._placed[end] else None
        self._placed[line] += 1
        self._cost_to_end[line] = self._network.left_over_cost
        while end != line:
            end = self._switch(came_by[end])
        return True

    def _cheapest_way(self, start: int) -> tuple[dict[int, int], dict[int, int], int, int]:
        """Return settled nodes with distances, the arc each node was reached by, end, length."""
        distances = {start: 0}
        settled: dict[int, int] = {}
        came_by: dict[int, int] = {}
        end, length = start, self._network.left_over_cost + self.prices[start]
        waiting = [(0, start)]
        while waiting:
            distance, node = heapq.heappop(waiting)
            if distance >= length:
                break
            if node in settled:
                continue
            settled[node] = distance
            for arc, neighbour, further in self._steps(node, distance, length):
                if further >= distances.get(neighbour, length):
                    continue
                distances[neighbour] = further
                came_by[neighbour] = arc
                heapq.heappush(waiting, (further, neighbour))
                to_end = self._cost_to_end[neighbour]
                if to_end is not None and further + to_end + self.prices[neighbour] < length:
                    end, length = neighbour, further + to_end + self.prices[neighbour]
        return settled, came_by, end, length

    def _steps(self, node: int, distance: int, length: int) -> list[tuple[int, int, int]]:
        """Return arc, neighbour and distance for each step from a node that is under `length`."""
        prices, is_used = self.prices, self.is_used
        here = distance + prices[node]
        beyond = length - here
        steps = [
            (arc, head, here + cost - prices[head])
            for arc, head, cost in self._leaving[node]
            if cost - prices[head] < beyond and not is_used[arc]
        ]
        for arc, (tail, cost) in self._used_into[node].items():
            steps.append((arc, tail, here - cost - prices[tail]))
        return steps

    def _switch(self, arc: int) -> int:
        """Use an arc, or take its packet back; return the node the way came from."""
        tail, head, cost = self._network.arcs[arc]
        self.is_used[arc] = not self.is_used[arc]
        if self.is_used[arc]:
            self._used_into[head][arc] = (tail, cost)
            return tail
        del self._used_into[head][arc]
        return head


def _first_prices(network: Network) -> list[int]:
    """Return less than what the cheapest way to the end costs from each node, and no more."""
    prices = [-network.left_over_cost] * len(network.node_names)
    for member, costs in enumerate(network.slot_costs):
        if costs:
            prices[network.first_member + member] = -costs[0]
    # Arcs into households stand first, so those out of them are read before.
    for tail, head, cost in reversed(network.arcs):
        prices[tail] = max(prices[tail], prices[head] - cost)
    return prices


def _result(
    work: Workings, network: Network, taken: list[WishArc], prices: Sequence[int]
) -> Result:
    left = list(work.left)
    room = list(work.room)
    for wish in taken:
        left[wish.line] -= 1
        room[wish.member] -= 1
    met = [(wish, False) for wish in taken] + [(wish, True) for wish in network.packed]
    met.sort(key=lambda pair: (pair[0].member, pair[0].position))
    packets = [
        Packet(
            work.members[wish.member].number,
            work.lines[wish.line].number,
            wish.phase,
            wish.position,
            0,
            was_frozen,
        )
        for wish, was_frozen in met
    ]
    return Result(
        policy="even",
        engine=ENGINE,
        packets=(*unlisted_packets(work), *packets),
        closing_turns={
            line.number: 0 for line, over in zip(work.lines, left, strict=True) if not over
        },
        full=tuple(
            member.number for member, over in zip(work.members, room, strict=True) if not over
        ),
        last_turns={},
        passes=(),
        plentiful=work.plentiful_numbers,
        prices=dict(zip(network.node_names, prices, strict=True)),
    )
