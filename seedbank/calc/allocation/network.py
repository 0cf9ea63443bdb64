"""The wishes as a network of costs, for the policy `even` and for the check of its answer."""

import hashlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import compress
from math import lcm

from seedbank.calc import lottery
from seedbank.calc.allocation.workings import Workings

TIE_BITS = 24
SIXTY_FOUR_BITS = (1 << 64) - 1


@dataclass(frozen=True, slots=True)
class Weights:
    """What one step costs: of the draw's tie-break (1), of rank, of evenness.

    Each is more than everything that stands below it could come to in a whole sharing-out, so that
    evenness is settled first, ranks next, and the draw decides only between equals.
    """

    rank: int
    evenness: int


@dataclass(frozen=True, slots=True)
class Network:
    """Lines, shared households and members as nodes; an arc carries one packet.

    Nodes are numbered: lines first, in the order of `Workings`; then one for each line a
    household shares; members from `first_member` on. Arc by arc, `tails`, `heads` and `costs`
    say from where to where at what cost, and `positions` which place in the member's whole list
    the wish has: 0 for arcs that bring a line to a household. `leaving` and `entering` hold each
    node's arcs. `slot_costs` holds what each further packet of a member would cost, next one
    first, and `left_over_cost` what it costs to leave a packet of a line on the shelf: more than
    any way of placing it. `packed` are the wishes, as (member, line, position), that frozen
    packets meet.

    Lists side by side and not a record an arc: a large society has two million wishes.
    """

    first_member: int
    node_names: list[str]
    node_lines: list[int]
    tails: list[int]
    heads: list[int]
    costs: list[int]
    positions: list[int]
    leaving: list[list[int]]
    entering: list[Sequence[int]]
    supply: list[int]
    slot_costs: list[list[int]]
    left_over_cost: int
    weights: Weights
    packed: list[tuple[int, int, int]]

    def member_of(self, arc: int) -> int:
        """Return the member whose wish an arc is."""
        return self.heads[arc] - self.first_member

    def line_of(self, arc: int) -> int:
        """Return the line an arc brings, through a household too."""
        return self.node_lines[self.tails[arc]]


def build_network(work: Workings) -> Network:
    """Return the network of everything that may still go to somebody."""
    wishes, packed = _open_wishes(work)
    node_names = [f"line {line.number}" for line in work.lines]
    node_lines = list(range(len(work.lines)))
    tails: list[int] = []
    heads: list[int] = []
    share_nodes = {}
    for (house, line), copies in _shared_caps(work, wishes).items():
        share_nodes[house, line] = len(node_names)
        tails += [line] * copies
        heads += [len(node_names)] * copies
        node_names.append(f"line {work.lines[line].number} in household {house}")
        node_lines.append(line)
    first_member = len(node_names)
    costs = [0] * len(tails)
    positions = [0] * len(tails)
    entering: list[Sequence[int]] = [[] for _ in node_names]
    for arc, head in enumerate(heads):
        entering[head] = [*entering[head], arc]
    weights = _weights(work)
    rank = weights.rank
    for member, key in enumerate(_tie_keys(work)):
        lines, places = wishes[member]
        began = len(tails)
        house = work.house[member]
        tails += [share_nodes[house, line] for line in lines] if house >= 0 else lines
        heads += [first_member + member] * len(lines)
        costs += [(place - 1) * rank + tie_break(key + place - 1) for place in places]
        positions += places
        entering.append(range(began, len(tails)))
    node_names += [f"member {member.number}" for member in work.members]
    leaving: list[list[int]] = [[] for _ in node_names]
    for arc, tail in enumerate(tails):
        leaving[tail].append(arc)
    slot_costs = _slot_costs(work, weights.evenness)
    dearest = max((slots[-1] for slots in slot_costs if slots), default=0)
    return Network(
        first_member=first_member,
        node_names=node_names,
        node_lines=node_lines,
        tails=tails,
        heads=heads,
        costs=costs,
        positions=positions,
        leaving=leaving,
        entering=entering,
        supply=[min(left, len(leaving[line])) for line, left in enumerate(work.left)],
        slot_costs=slot_costs,
        left_over_cost=dearest + sum(costs) + 1,
        weights=weights,
        packed=packed,
    )


def tie_break(state: int) -> int:
    """Return 24 bits that look like chance but are the same for the same number.

    One step of the splitmix64 generator (Steele, Lea and Flood, Fast splittable pseudorandom
    number generators, 2014), its highest 24 bits.

    Examples
    --------
    >>> tie_break(0) == 0xE220A8397B1DCDAF >> 40
    True
    """
    mixed = (state + 0x9E3779B97F4A7C15) & SIXTY_FOUR_BITS
    mixed = ((mixed ^ (mixed >> 30)) * 0xBF58476D1CE4E5B9) & SIXTY_FOUR_BITS
    mixed = ((mixed ^ (mixed >> 27)) * 0x94D049BB133111EB) & SIXTY_FOUR_BITS
    return (mixed ^ (mixed >> 31)) >> (64 - TIE_BITS)


def _weights(work: Workings) -> Weights:
    """Return weights that no sharing-out of these packets can turn against each other."""
    packets = min(sum(work.left), sum(work.room)) + 1
    longest = max((len(m.main) + len(m.reserve) for m in work.inputs.members), default=0) + 1
    rank = packets << TIE_BITS
    return Weights(rank=rank, evenness=packets * longest * rank)


def _open_wishes(
    work: Workings,
) -> tuple[list[tuple[list[int], list[int]]], list[tuple[int, int, int]]]:
    """Return each member's wishes that may still be met, and those a frozen packet meets.

    Open wishes are lines and places in the member's whole list, side by side.
    """
    open_wishes: list[tuple[list[int], list[int]]] = []
    packed = []
    for member, (main, reserve) in enumerate(zip(work.main, work.reserve, strict=True)):
        lines, places = [*main.lines, *reserve.lines], [*main.positions, *reserve.positions]
        uncounted = Counter(work.frozen.get(member, {}))
        met = set()
        for line, place in zip(lines, places, strict=True) if uncounted else ():
            if uncounted[line]:
                uncounted[line] -= 1
                packed.append((member, line, place))
                met.add(place)
        has_room = work.room[member] > 0
        still = [has_room and work.left[line] > 0 for line in lines]
        if met:
            still = [may and place not in met for may, place in zip(still, places, strict=True)]
        open_wishes.append((list(compress(lines, still)), list(compress(places, still))))
    return open_wishes, packed


def _shared_caps(
    work: Workings, open_wishes: Sequence[tuple[list[int], list[int]]]
) -> dict[tuple[int, int], int]:
    """Return how many packets of a line each household that shares a cap may still have."""
    caps = {
        (house, line): work.lines[line].copies
        for house, (lines, _places) in zip(work.house, open_wishes, strict=True)
        if house >= 0
        for line in lines
    }
    for member, lines in work.frozen.items():
        for line, packets in lines.items():
            if (work.house[member], line) in caps:
                caps[work.house[member], line] -= packets
    return {share: max(0, copies) for share, copies in caps.items()}


def _tie_keys(work: Workings) -> list[int]:
    """Return the first 64 bits of each member's key in the draw."""
    seed = work.inputs.draw_seed or hashlib.sha256("\n".join(work.inputs.order).encode()).digest()
    return [
        int.from_bytes(lottery.member_key(seed, member.number)[:8], "big")
        for member in work.members
    ]


def _slot_costs(work: Workings, evenness: int) -> list[list[int]]:
    """Return what each further packet of each member costs, next one first."""
    common = lcm(*(member.allowance for member in work.members if member.allowance))
    costs = []
    for member, room in zip(work.members, work.room, strict=True):
        taken = member.allowance - room
        share = common // member.allowance if member.allowance else 0
        costs.append(
            [
                (2 * packet - 1) * share * evenness
                for packet in range(taken + 1, member.allowance + 1)
            ]
        )
    return costs
