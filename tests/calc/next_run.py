"""The next run from the one before: replay, top-up, a mouldy packet, a cancellation.

Each gives new inputs; the old ones and their result stay as they are. The draw and the plentiful
lines of the first run are kept, for with them nobody loses by a late donation or by a member who
leaves.
"""

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from crosses.calc.errors import BadInput
from seedbank.calc.allocation.model import Frozen, Inputs, Line, Packet, Result

Pair = tuple[str, str]


def replay(
    inputs: Inputs,
    result: Result,
    *,
    packed: Collection[Pair] = (),
    added: Mapping[str, int] | None = None,
) -> Inputs:
    """Return the inputs for running again before the results are announced.

    Parameters
    ----------
    inputs, result
        The run before.
    packed : collection of (member number, line number)
        Packets already in a parcel; they stay. A pair named twice is two packets.
    added : mapping of str to int, optional
        Packets to add to the stock of a line.

    Raises
    ------
    BadInput
        If a packet is said to be packed that the run before did not give.
    """
    given = Counter((packet.member, packet.line) for packet in result.packets)
    for (member, line), packets in Counter(packed).items():
        if packets > given[member, line]:
            raise BadInput(
                f"Line {line} was not allotted to member {member}, so it cannot be packed for her.",
                field="packed",
            )
    kept = Counter((frozen.member, frozen.line) for frozen in inputs.frozen)
    newly = Counter(packed) - kept
    return replace(
        inputs,
        lines=_with_stock(inputs.lines, added or {}),
        frozen=inputs.frozen + tuple(Frozen(*pair) for pair in sorted(newly.elements())),
        plentiful=result.plentiful,
    )


def top_up(inputs: Inputs, result: Result, *, added: Mapping[str, int] | None = None) -> Inputs:
    """Return the inputs for running again after the results are announced.

    Everything that was given is frozen; what is added goes, in the order of turns, to those who
    asked for it and have room. Nobody gives anything back.
    """
    everything = [(packet.member, packet.line) for packet in result.packets]
    return replace(replay(inputs, result, packed=everything, added=added), make_good=())


def packets_to_take_back(
    result: Result, line: str, lost: int, packed: Collection[Pair] = ()
) -> tuple[Packet, ...]:
    """Return the packets of a line in the order to take them back if `lost` of them are bad.

    Those taken at the latest turns come first, packed ones only after all others; the keeper
    picks from the list which `lost` to take.

    Raises
    ------
    BadInput
        If more packets are lost than were given.
    """
    given = [packet for packet in result.packets if packet.line == line]
    if lost > len(given):
        raise BadInput(
            f"Only {len(given)} packets of line {line} were given, so {lost} cannot be taken back.",
            field="lost",
        )
    by_turn = sorted(given, key=lambda packet: packet.turn, reverse=True)
    return tuple(sorted(by_turn, key=lambda packet: (packet.member, packet.line) in packed))


def after_loss(inputs: Inputs, result: Result, taken_back: Sequence[Packet]) -> Inputs:
    """Return the inputs for a top-up after packets were found mouldy.

    Their lines lose that stock. Each member who gave one back takes a turn before anybody else.
    """
    lost = Counter(packet.line for packet in taken_back)
    missing = Counter((packet.member, packet.line) for packet in taken_back)
    following = top_up(inputs, result)
    frozen = []
    for packet in following.frozen:
        if missing[packet.member, packet.line]:
            missing[packet.member, packet.line] -= 1
        else:
            frozen.append(packet)
    if +missing:
        raise BadInput("A packet that was not given cannot be taken back.", field="taken_back")
    less = {line: -packets for line, packets in lost.items()}
    return replace(
        following,
        lines=_with_stock(following.lines, less),
        frozen=tuple(frozen),
        make_good=tuple(packet.member for packet in taken_back),
    )


def without_member(inputs: Inputs, member: str) -> Inputs:
    """Return the inputs as they are once a member has cancelled; her packets return to stock."""
    return replace(
        inputs,
        members=tuple(each for each in inputs.members if each.number != member),
        order=tuple(number for number in inputs.order if number != member),
        bars=tuple(bar for bar in inputs.bars if bar.member != member),
        frozen=tuple(packet for packet in inputs.frozen if packet.member != member),
        make_good=tuple(number for number in inputs.make_good if number != member),
    )


def _with_stock(lines: Sequence[Line], added: Mapping[str, int]) -> tuple[Line, ...]:
    unknown = sorted(set(added) - {line.number for line in lines})
    if unknown:
        raise BadInput(
            f"Line {unknown[0]} was not on the list, so nobody could ask for it:"
            " it goes to the surplus round.",
            field="added",
        )
    return tuple(replace(line, stock=line.stock + added.get(line.number, 0)) for line in lines)
