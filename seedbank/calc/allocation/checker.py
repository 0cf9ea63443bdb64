"""A check of a finished sharing-out that trusts nothing the policies keep to themselves.

It counts everything again, finds each line's closing turn from the packets themselves, and asks
of every wish that was not met whether the line had closed by the turn in which it was read. Then
every member took, each time, the best of her wishes that was still to be had, and that makes the
outcome Pareto efficient: in any round of swaps that leaves nobody worse off, look at the packet
that was taken first; what its taker would rather have had was still there, and she would have
taken it. A result of `even` is checked by its prices instead: if no price is out of step with a
cost, no cheaper flow exists.
"""

from collections import Counter, defaultdict

from crosses.calc.errors import BadInput
from seedbank.calc.allocation.model import (
    HOUSEHOLD,
    MAKE_GOOD,
    UNLISTED,
    Inputs,
    Packet,
    Result,
)
from seedbank.calc.allocation.network import Network, build_network
from seedbank.calc.allocation.outcomes import outcomes, records
from seedbank.calc.allocation.workings import prepare


def problems(inputs: Inputs, result: Result) -> tuple[str, ...]:
    """Return everything that is wrong with a result, in words; nothing if all is well."""
    found = [*_broken_limits(inputs, result), *_broken_promises(inputs, result)]
    if found:
        return tuple(found)
    if result.policy == "even":
        return tuple(_wrong_prices(inputs, result))
    return (*_wrong_turns(inputs, result), *_unfounded_refusals(inputs, result))


def _broken_limits(inputs: Inputs, result: Result) -> list[str]:
    """Nothing over stock, allowance, cap or household cap."""
    stock = {line.number: line.stock for line in inputs.lines}
    copies = {line.number: line.copies for line in inputs.lines}
    allowance = {member.number: member.allowance for member in inputs.members}
    frozen_pairs = Counter((each.member, each.line) for each in inputs.frozen)
    free_of_allowance = Counter(each.member for each in inputs.frozen if not each.counts)
    counting = Counter(each.member for each in inputs.frozen if each.counts)
    by_line = Counter(packet.line for packet in result.packets)
    by_member = Counter(packet.member for packet in result.packets)
    by_pair = Counter((packet.member, packet.line) for packet in result.packets)
    found = [
        f"Line {line}: {packets} packets given, {stock[line]} in stock."
        for line, packets in by_line.items()
        if packets > stock[line]
    ]
    for member, packets in by_member.items():
        most = max(allowance[member], counting[member]) + free_of_allowance[member]
        if packets > most:
            found.append(f"Member {member}: {packets} packets, {most} allowed.")
    for (member, line), packets in by_pair.items():
        if packets > max(copies[line], frozen_pairs[member, line]):
            found.append(f"Member {member}: {packets} packets of line {line}.")
    if inputs.options.one_per_household:
        found += _broken_household_caps(inputs, result)
    return found


def _broken_household_caps(inputs: Inputs, result: Result) -> list[str]:
    copies = {line.number: line.copies for line in inputs.lines}
    home = {member.number: member.household for member in inputs.members}
    given = Counter((home[each.member], each.line) for each in result.packets if home[each.member])
    frozen = Counter((home[each.member], each.line) for each in inputs.frozen)
    return [
        f"A household has {packets} packets of line {line}."
        for (household, line), packets in given.items()
        if packets > max(copies[line], frozen[household, line])
    ]


def _broken_promises(inputs: Inputs, result: Result) -> list[str]:
    """Frozen packets kept; every other one asked for, at the place it says, and not barred."""
    frozen = Counter((each.member, each.line) for each in inputs.frozen)
    kept = Counter((each.member, each.line) for each in result.packets if each.was_frozen)
    found = [] if frozen == kept else ["The frozen packets are not those of the inputs."]
    barred = {(bar.member, bar.line) for bar in inputs.bars}
    lists = {member.number: (*member.main, *member.reserve) for member in inputs.members}
    places = Counter((each.member, each.position) for each in result.packets if each.position)
    for packet in result.packets:
        if (packet.member, packet.line) in barred:
            found.append(f"Line {packet.line} is barred for member {packet.member}.")
        if packet.phase == UNLISTED and packet.was_frozen:
            continue
        place = packet.position
        if not 0 < place <= len(lists[packet.member]) or places[packet.member, place] > 1:
            found.append(f"Member {packet.member} has a packet from no wish of hers.")
        elif lists[packet.member][place - 1] != packet.line:
            found.append(f"Member {packet.member} has another line than wish {place}.")
    return found


def _wrong_turns(inputs: Inputs, result: Result) -> list[str]:
    """Find turns that cannot be: closing turns, two members in a turn, a list read upwards."""
    found = []
    left = {line.number: line.stock for line in inputs.lines}
    closing: dict[str, int] = {}
    for packet in result.packets:
        left[packet.line] -= 1
        if not packet.was_frozen:
            closing[packet.line] = max(closing.get(packet.line, 0), packet.turn)
    if result.closing_turns != {
        line: closing.get(line, 0) for line, over in left.items() if not over
    }:
        found.append("The closing turns are not those of the last packets.")
    members_by_turn: dict[int, str] = {}
    latest: dict[str, tuple[int, int]] = {}
    for packet in result.packets:
        if packet.phase == UNLISTED:
            continue
        if members_by_turn.setdefault(packet.turn, packet.member) != packet.member:
            found.append(f"Two members took packets in turn {packet.turn}.")
        if packet.phase == MAKE_GOOD:
            continue
        now = (packet.turn, packet.position)
        if (
            now <= latest.get(packet.member, (0, 0))
            or packet.position <= latest.get(packet.member, (0, 0))[1]
        ):
            found.append(f"Member {packet.member} did not read her list from the top.")
        latest[packet.member] = now
    return found


def _unfounded_refusals(inputs: Inputs, result: Result) -> list[str]:
    """Every wish that was not met has a reason that holds at the turn in which it was read."""
    lines = {line.number: line for line in inputs.lines}
    home = {member.number: member.household for member in inputs.members}
    house_packets: dict[tuple[str, str], list[Packet]] = defaultdict(list)
    for packet in result.packets:
        house_packets[home[packet.member], packet.line].append(packet)
    found = []
    for record in records(inputs, result):
        member = record.member
        try:
            told = outcomes(record, lines, inputs, result)
        except BadInput as refusal:
            found.append(refusal.message)
            continue
        for outcome in told:
            if outcome.code != HOUSEHOLD:
                continue
            had = sum(
                packet.was_frozen or packet.turn <= outcome.turn
                for packet in house_packets[member.household, outcome.line]
            )
            if had < lines[outcome.line].copies:
                found.append(
                    f"Member {member.number} was refused line {outcome.line} for a household"
                    " that had room for it."
                )
    return found


def _wrong_prices(inputs: Inputs, result: Result) -> list[str]:
    """No wish, no further packet of a member and no packet left over is out of step."""
    work = prepare(inputs)
    network = build_network(work)
    price = [result.prices[name] for name in network.node_names]
    taken = {(packet.member, packet.position) for packet in result.packets if not packet.was_frozen}
    found = []
    carried = [0] * len(network.node_names)
    arcs = zip(network.tails, network.heads, network.costs, network.positions, strict=True)
    for tail, head, cost, position in arcs:
        if not position:
            continue
        name = work.members[head - network.first_member].number
        reduced = cost + price[tail] - price[head]
        is_taken = (name, position) in taken
        carried[tail] += is_taken
        carried[head] += is_taken
        if reduced > 0 if is_taken else reduced < 0:
            found.append(f"Wish {position} of member {name} could be settled at less cost.")
    found += _wrong_household_prices(network, price, carried)
    for place, costs in enumerate(network.slot_costs):
        node = network.first_member + place
        count = carried[node]
        dear = count and costs[count - 1] + price[node] > 0
        if dear or (count < len(costs) and costs[count] + price[node] < 0):
            found.append(f"Member {work.members[place].number} has too many packets or too few.")
    for line, packets in enumerate(network.supply):
        over = network.left_over_cost + price[line]
        if (carried[line] and over < 0) or (carried[line] < packets and over > 0):
            found.append(f"Packets of line {work.lines[line].number} were left over for nothing.")
    return found


def _wrong_household_prices(network: Network, price: list[int], carried: list[int]) -> list[str]:
    """Check the arcs into shared households; add what they carry to their lines."""
    found = []
    copies = Counter(
        (tail, head)
        for tail, head in zip(network.tails, network.heads, strict=True)
        if head < network.first_member
    )
    for (tail, head), most in copies.items():
        reduced = price[tail] - price[head]
        if (carried[head] and reduced > 0) or (carried[head] < most and reduced < 0):
            found.append(f"{network.node_names[head]} could be settled at less cost.")
        carried[tail] += carried[head]
    return found
