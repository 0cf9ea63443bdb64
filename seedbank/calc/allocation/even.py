"""The policy `even`: as many packets as can be, spread evenly, then by rank.

A flow of least cost, in whole numbers throughout. Settled first is evenness: a member's k-th
packet costs (2k - 1) x (least common multiple of all allowances / her allowance), so that the sum
of squares of the packets, each against its allowance, is least. Next come ranks: a wish costs its
place in the list, counted from 0. Last comes a number of 24 bits drawn from the lottery, which
decides between answers that are otherwise alike. `network` weighs the three so that all ranks
together never outweigh evenness, nor all draws together a rank; `flow` finds the answer.

The prices that come out prove the answer: for every wish that was met, cost plus price of the
line less price of the member is 0 or below, for every other one 0 or above; `checker` reads them
so. The fewest packets anybody has are more than under `turns`; first choices are fewer, and a
member who knows the others' lists can gain by misstating her own.
"""

from crosses.calc.errors import BadInput
from seedbank.calc.allocation.estimate import estimate_prices
from seedbank.calc.allocation.flow import Flow
from seedbank.calc.allocation.model import MAIN, RESERVE, Inputs, Packet, Result
from seedbank.calc.allocation.network import Network, build_network
from seedbank.calc.allocation.workings import Workings, prepare, unlisted_packets

ENGINE = "even 2, cheapest ways from an estimate"


def share_evenly(inputs: Inputs) -> Result:
    """Share out the packets so that as many as can be go out, and as evenly as can be.

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
    flow = Flow(network, estimate_prices(network))
    flow.put_right()
    return _result(work, network, flow)


def _result(work: Workings, network: Network, flow: Flow) -> Result:
    left = list(work.left)
    room = list(work.room)
    met = [(member, position, line, True) for member, line, position in network.packed]
    for arc, position in enumerate(network.positions):
        if position and flow.is_used(arc):
            member, line = network.member_of(arc), network.line_of(arc)
            left[line] -= 1
            room[member] -= 1
            met.append((member, position, line, False))
    packets = [
        Packet(
            work.members[member].number,
            work.lines[line].number,
            MAIN if position <= len(work.members[member].main) else RESERVE,
            position,
            0,
            was_frozen,
        )
        for member, position, line, was_frozen in sorted(met)
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
        prices=dict(zip(network.node_names, flow.prices, strict=True)),
    )
