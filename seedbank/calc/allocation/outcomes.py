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
    asked: Counter[str] = Counter()
    found: list[Outcome] = []
    for position, line in enumerate((*record.member.main, *record.member.reserve), start=1):
        phase = MAIN if position <= len(record.member.main) else RESERVE
        asked[line] += 1
        packet = next((held for held in record.packets if held.position == position), None)
        if line in record.bars:
            found.append(Outcome(line, position, phase, BARRED, 0))
        elif asked[line] > lines[line].copies:
            found.append(Outcome(line, position, phase, DUPLICATE, 0))
        elif packet:
            code = _code_of_packet(packet, inputs, result)
            found.append(Outcome(line, position, phase, code, packet.turn))
        else:
            read_at = _read_at(record, position, phase, result)
            code = _code_of_refusal(record, lines[line], position, read_at, inputs, result)
            found.append(Outcome(line, position, phase, code, read_at))
    return tuple(found)


def _code_of_packet(packet: Packet, inputs: Inputs, result: Result) -> str:
    if packet.was_frozen:
        return PACKED
    cost_no_turn = result.policy == "turns" and inputs.options.plentiful_free
    if cost_no_turn and packet.phase == MAIN and packet.line in result.plentiful:
        return PLENTIFUL
    return GOT


def _read_at(record: Record, position: int, phase: str, result: Result) -> int:
    """Return the turn in which a wish that was not met was read.

    That is the turn of the next packet of the same phase, for she read on until then; after the
    last packet it is her last turn.
    """
    later = [
        packet.turn
        for packet in record.packets
        if packet.phase == phase and packet.position > position
    ]
    if later:
        return min(later)
    main_turn, reserve_turn = result.last_turns.get(record.member.number, (0, 0))
    return main_turn if phase == MAIN else reserve_turn


def _code_of_refusal(
    record: Record, line: Line, position: int, read_at: int, inputs: Inputs, result: Result
) -> str:
    if line.withdrawn:
        return WITHDRAWN
    if result.policy == "even":
        is_full = record.member.number in result.full
    else:
        is_full = record.room == sum(
            not packet.was_frozen and (packet.position < position or packet.phase == MAKE_GOOD)
            for packet in record.packets
        )
    if is_full:
        return FULL
    if result.closing_turns.get(line.number, read_at + 1) <= read_at:
        return GONE
    if inputs.options.one_per_household and record.member.household:
        return HOUSEHOLD
    raise BadInput(
        f"Line {line.number} had packets left when member {record.member.number} asked:"
        " this result does not belong to these inputs."
    )
