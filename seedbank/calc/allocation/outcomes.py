"""What became of each wish, told from the packets and their turns alone."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from crosses.calc.errors import BadInput
from seedbank.calc.allocation.model import (
    BARRED,
    DUPLICATE,
    FULL,
    GONE,
    GOT,
    HOUSEHOLD,
    MAIN,
    MAKE_GOOD,
    PACKED,
    PLENTIFUL,
    RESERVE,
    WITHDRAWN,
    Inputs,
    Line,
    Member,
    Packet,
    Result,
)
from seedbank.calc.allocation.workings import byte_order


@dataclass(frozen=True, slots=True)
class Record:
    """All that concerns one member: her lists, the rules that bar lines to her, her packets.

    `room` is what her allowance left open after the frozen packets.
    """

    member: Member
    bars: Mapping[str, str]
    packets: tuple[Packet, ...]
    room: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one wish: a code of `model`, and the turn at which it was settled.

    `turn` is 0 where no turn settled it.
    """

    line: str
    position: int
    phase: str
    code: str
    turn: int


def records(inputs: Inputs, result: Result) -> tuple[Record, ...]:
    """Return one record a member, in the byte order of their numbers."""
    bars: dict[str, dict[str, str]] = defaultdict(dict)
    for bar in inputs.bars:
        bars[bar.member][bar.line] = bar.rule
    packets: dict[str, list[Packet]] = defaultdict(list)
    for packet in result.packets:
        packets[packet.member].append(packet)
    used = Counter(packet.member for packet in inputs.frozen if packet.counts)
    return tuple(
        Record(
            member=member,
            bars=bars[member.number],
            packets=tuple(packets[member.number]),
            room=max(0, member.allowance - used[member.number]),
        )
        for member in sorted(inputs.members, key=lambda member: byte_order(member.number))
    )


def outcomes(
    record: Record, lines: Mapping[str, Line], inputs: Inputs, result: Result
) -> tuple[Outcome, ...]:
    """Say for each wish of a member, in the order of her list, what became of it.

    Of `inputs` only policy, options and the like are read, and of `result` closing turns, last
    turns and plentiful lines: what one member's page needs can be had without the other lists.

    Raises
    ------
    BadInput
        If the result cannot have come from these inputs.
    """
    packets = {packet.position: packet for packet in record.packets if packet.position}
    read_at = _reading_turns(record, packets, result)
    used = sum(packet.phase == MAKE_GOOD for packet in record.packets)
    asked: Counter[str] = Counter()
    found: list[Outcome] = []
    for position, line in enumerate((*record.member.main, *record.member.reserve), start=1):
        phase = MAIN if position <= len(record.member.main) else RESERVE
        asked[line] += 1
        packet = packets.get(position)
        turn = 0
        if line in record.bars:
            code = BARRED
        elif asked[line] > lines[line].copies:
            code = DUPLICATE
        elif packet:
            used += not packet.was_frozen and packet.phase != MAKE_GOOD
            code, turn = _code_of_packet(packet, inputs, result), packet.turn
        else:
            turn = read_at[position - 1]
            code = _code_of_refusal(record, lines[line], used, turn, inputs, result)
        found.append(Outcome(line, position, phase, code, turn))
    return tuple(found)


def _code_of_packet(packet: Packet, inputs: Inputs, result: Result) -> str:
    if packet.was_frozen:
        return PACKED
    cost_no_turn = result.policy == "turns" and inputs.options.plentiful_free
    if cost_no_turn and packet.phase == MAIN and packet.line in result.plentiful:
        return PLENTIFUL
    return GOT


def _reading_turns(record: Record, packets: Mapping[int, Packet], result: Result) -> list[int]:
    """Return the turn in which each wish was read, in the order of the list.

    A wish that was not met was read in the turn of the next packet of the same phase, for she
    read on until then; after the last packet it was her last turn.
    """
    main_wishes = len(record.member.main)
    turns = [0] * (main_wishes + len(record.member.reserve))
    last_main, turn = result.last_turns.get(record.member.number, (0, 0))
    for position in range(len(turns), 0, -1):
        if position == main_wishes:
            turn = last_main
        packet = packets.get(position)
        if packet and packet.phase != MAKE_GOOD:
            turn = packet.turn
        turns[position - 1] = turn
    return turns


def _code_of_refusal(
    record: Record, line: Line, used: int, read_at: int, inputs: Inputs, result: Result
) -> str:
    """Say why a wish was not met; `used` counts the packets her allowance gave before it."""
    if line.withdrawn:
        return WITHDRAWN
    is_even = result.policy == "even"
    if record.member.number in result.full if is_even else used == record.room:
        return FULL
    if result.closing_turns.get(line.number, read_at + 1) <= read_at:
        return GONE
    if inputs.options.one_per_household and record.member.household:
        return HOUSEHOLD
    raise BadInput(
        f"Line {line.number} had packets left when member {record.member.number} asked:"
        " this result does not belong to these inputs."
    )
