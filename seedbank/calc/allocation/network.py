"""The wishes as a network of costs, for the policy `even` and for the check of its answer."""

import hashlib
from collections import Counter
from dataclasses import dataclass
from math import lcm

from seedbank.calc import lottery
from seedbank.calc.allocation.model import MAIN, RESERVE
from seedbank.calc.allocation.workings import Workings

EVENNESS = 1000
TIE_BITS = 24
SIXTY_FOUR_BITS = (1 << 64) - 1


@dataclass(frozen=True, slots=True)
class WishArc:
    """A wish that could be met: which member, and the place in her whole list."""

    member: int
    line: int
    phase: str
    position: int


@dataclass(frozen=True, slots=True)
class Network:
    """Lines, shared households and members as nodes; an arc carries one packet.

    Nodes are numbered: lines first, in the order of `Workings`; then one for each line a
    household shares; members from `first_member` on. `arcs` holds tail, head and cost; `wishes`
    the wish behind an arc, None for the arcs that bring a line to a household. `slot_costs`
    holds what each further packet of a member would cost, next one first, and `left_over_cost`
    what it costs to leave a packet of a line on the shelf: more than any way of placing it.
    `packed` are the wishes that frozen packets meet.
    """

    first_member: int
    node_names: list[str]
    arcs: list[tuple[int, int, int]]
    wishes: list[WishArc | None]
    supply: list[int]
    slot_costs: list[list[int]]
    left_over_cost: int
    packed: list[WishArc]


def build_network(work: Workings) -> Network:
    """Return the network of everything that may still go to somebody."""
    open_wishes, packed = _open_wishes(work)
    shared = _shared_caps(work, open_wishes)
    node_names = [f"line {line.number}" for line in work.lines]
    arcs: list[tuple[int, int, int]] = []
    wishes: list[WishArc | None] = []
    share_nodes = {}
    for (house, line), copies in shared.items():
        share_nodes[house, line] = len(node_names)
        arcs += [(line, len(node_names), 0)] * copies
        wishes += [None] * copies
        node_names.append(f"line {work.lines[line].number} in household {house}")
    first_member = len(node_names)
    node_names += [f"member {member.number}" for member in work.members]
    keys = _tie_keys(work)
    for wish in open_wishes:
        tail = share_nodes.get((work.house[wish.member], wish.line), wish.line)
        place = wish.position - 1
        cost = (place << TIE_BITS) + tie_break(keys[wish.member] + place)
        arcs.append((tail, first_member + wish.member, cost))
        wishes.append(wish)
    leaving = Counter(tail for tail, _, _ in arcs)
    slot_costs = _slot_costs(work)
    dearest = max((costs[-1] for costs in slot_costs if costs), default=0)
    longest_way = dearest + sum(cost for _, _, cost in arcs)
    return Network(
        first_member=first_member,
        node_names=node_names,
        arcs=arcs,
        wishes=wishes,
        supply=[min(left, leaving[line]) for line, left in enumerate(work.left)],
        slot_costs=slot_costs,
        left_over_cost=longest_way + 1,
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


def _open_wishes(work: Workings) -> tuple[list[WishArc], list[WishArc]]:
    """Return the wishes that may still be met, and those a frozen packet meets."""
    open_wishes, packed = [], []
    for member in range(len(work.members)):
        uncounted = Counter(work.frozen.get(member, {}))
        for phase, readings in ((MAIN, work.main), (RESERVE, work.reserve)):
            reading = readings[member]
            for line, position in zip(reading.lines, reading.positions, strict=True):
                wish = WishArc(member, line, phase, position)
                if uncounted[line]:
                    uncounted[line] -= 1
                    packed.append(wish)
                elif work.room[member] and work.left[line]:
                    open_wishes.append(wish)
    return open_wishes, packed


def _shared_caps(work: Workings, open_wishes: list[WishArc]) -> dict[tuple[int, int], int]:
    """Return how many packets of a line each household that shares a cap may still have."""
    caps = {
        (work.house[wish.member], wish.line): work.lines[wish.line].copies
        for wish in open_wishes
        if work.house[wish.member] >= 0
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


def _slot_costs(work: Workings) -> list[list[int]]:
    """Return what each further packet of each member costs, next one first."""
    common = lcm(*(member.allowance for member in work.members if member.allowance))
    costs = []
    for member, room in zip(work.members, work.room, strict=True):
        taken = member.allowance - room
        share = common // member.allowance if member.allowance else 0
        costs.append(
            [
                (2 * packet - 1) * share * EVENNESS << TIE_BITS
                for packet in range(taken + 1, member.allowance + 1)
            ]
        )
    return costs
