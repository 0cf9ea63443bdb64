"""The inputs, checked and turned into numbered lists that can be read quickly."""

import unicodedata
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

from crosses.calc.errors import BadInput
from seedbank.calc.allocation.model import (
    BARRED,
    DUPLICATE,
    POLICIES,
    UNLISTED,
    Inputs,
    Line,
    Member,
    Packet,
)

MOST_PACKETS = 1_000_000


@dataclass(frozen=True, slots=True)
class Reading:
    """A member's usable wishes of one phase: lines by index, and their places in her whole list.

    Two sequences and not a list of pairs, because a large society has two million wishes.
    """

    lines: Sequence[int]
    positions: Sequence[int]


@dataclass(frozen=True, slots=True)
class Workings:
    """Members and lines by index, in the byte order of their numbers.

    `order` is the draw as member indices. `main` and `reserve` are the usable wishes, without
    barred and surplus entries; `dropped` says why an entry went, by member and position.
    `left` and `room` are what lines and members have over after the frozen packets; `frozen`
    counts each member's frozen packets by line. `house` numbers the households whose members
    share a cap, -1 for a member who shares with nobody.
    """

    inputs: Inputs
    members: tuple[Member, ...]
    lines: tuple[Line, ...]
    order: list[int]
    main: list[Reading]
    reserve: list[Reading]
    dropped: dict[tuple[int, int], str]
    left: list[int]
    room: list[int]
    frozen: dict[int, Counter[int]]
    plentiful: list[bool]
    house: list[int]

    @property
    def turn_order(self) -> list[int]:
        """The draw again, donors before the other tiers."""
        return sorted(self.order, key=lambda member: self.members[member].tier)

    @property
    def plentiful_numbers(self) -> tuple[str, ...]:
        """Numbers of the lines that had enough for every main wish."""
        return tuple(
            line.number for line, enough in zip(self.lines, self.plentiful, strict=True) if enough
        )


def byte_order(number: str) -> bytes:
    """Return what numbers are sorted by everywhere: their UTF-8 bytes, on every machine alike."""
    return number.encode()


def prepare(inputs: Inputs) -> Workings:
    """Check the inputs and number everything in them.

    Raises
    ------
    BadInput
        If the inputs contradict themselves; the message says which member or line it is about.
    """
    if inputs.policy not in POLICIES:
        raise BadInput(f"There is no policy called {inputs.policy}.", field="policy")
    members = tuple(sorted(inputs.members, key=lambda member: byte_order(member.number)))
    lines = tuple(sorted(inputs.lines, key=lambda line: byte_order(line.number)))
    member_index = _index([member.number for member in members], "Member", "members")
    line_index = _index([line.number for line in lines], "Line", "lines")
    _check_amounts(members, lines)
    order = [_found(member_index, number, "member", "order") for number in inputs.order]
    if len(order) != len(members) or len(set(order)) != len(order):
        raise BadInput("The draw must hold every member once, and nobody else.", field="order")
    for number in inputs.make_good:
        _found(member_index, number, "member", "make_good")

    barred: dict[int, set[int]] = {}
    for bar in inputs.bars:
        member = _found(member_index, bar.member, "member", "barred")
        barred.setdefault(member, set()).add(_found(line_index, bar.line, "line", "barred"))
    left = [line.stock for line in lines]
    room = [member.allowance for member in members]
    frozen = _freeze(inputs, member_index, line_index, barred, left, room)
    main, reserve, dropped = _readings(members, lines, line_index, barred)
    return Workings(
        inputs=inputs,
        members=members,
        lines=lines,
        order=order,
        main=main,
        reserve=reserve,
        dropped=dropped,
        left=left,
        room=[max(0, packets) for packets in room],
        frozen=frozen,
        plentiful=_plentiful(inputs, members, lines, line_index, dropped),
        house=_houses(inputs, members),
    )


def unlisted_packets(work: Workings) -> list[Packet]:
    """Return the frozen packets that stand in no list of their member's."""
    packets = []
    for member in sorted(work.frozen):
        asked = Counter((*work.main[member].lines, *work.reserve[member].lines))
        for line, count in sorted((work.frozen[member] - asked).items()):
            number = work.members[member].number
            packet = Packet(number, work.lines[line].number, UNLISTED, 0, 0, was_frozen=True)
            packets += [packet] * count
    return packets


def _index(numbers: Sequence[str], noun: str, field: str) -> dict[str, int]:
    index: dict[str, int] = {}
    for place, number in enumerate(numbers):
        if not number:
            raise BadInput(f"{noun} without a number.", field=field)
        if unicodedata.normalize("NFC", number) != number:
            raise BadInput(f"{noun} {number} must be written in Unicode NFC.", field=field)
        if number in index:
            raise BadInput(f"{noun} {number} stands in the inputs twice.", field=field)
        index[number] = place
    return index


def _found(index: dict[str, int], number: str, noun: str, field: str) -> int:
    if number not in index:
        raise BadInput(f"There is no {noun} {number} in these inputs.", field=field)
    return index[number]


def _check_amounts(members: Sequence[Member], lines: Sequence[Line]) -> None:
    for member in members:
        if not 0 <= member.allowance <= MOST_PACKETS:
            raise BadInput(
                f"The allowance of member {member.number} must be from 0 to {MOST_PACKETS:,}.",
                field="allowance",
            )
        if member.tier < 0:
            raise BadInput(f"The tier of member {member.number} is below 0.", field="tier")
    for line in lines:
        if not 0 <= line.stock <= MOST_PACKETS:
            raise BadInput(
                f"The stock of line {line.number} must be from 0 to {MOST_PACKETS:,} packets.",
                field="stock",
            )
        if line.copies < 1:
            raise BadInput(
                f"Line {line.number} must let a member have at least one packet.", field="copies"
            )


def _freeze(
    inputs: Inputs,
    member_index: dict[str, int],
    line_index: dict[str, int],
    barred: dict[int, set[int]],
    left: list[int],
    room: list[int],
) -> dict[int, Counter[int]]:
    """Take the frozen packets out of stock and allowances; both lists are changed."""
    frozen: dict[int, Counter[int]] = {}
    for packet in inputs.frozen:
        member = _found(member_index, packet.member, "member", "frozen")
        line = _found(line_index, packet.line, "line", "frozen")
        if line in barred.get(member, ()):
            raise BadInput(
                f"Line {packet.line} is barred for member {packet.member}, who has a frozen packet"
                " of it. Take the packet back or lift the bar.",
                field="frozen",
            )
        frozen.setdefault(member, Counter())[line] += 1
        left[line] -= 1
        room[member] -= packet.counts
    for line_record in inputs.lines:
        over = left[line_index[line_record.number]]
        if over < 0:
            raise BadInput(
                f"Line {line_record.number} has more frozen packets than stock.", field="frozen"
            )
        if line_record.withdrawn and over:
            raise BadInput(
                f"Line {line_record.number} is withdrawn but still has packets to share out."
                " Set its stock to what is already frozen.",
                field="stock",
            )
    return frozen


def _readings(
    members: Sequence[Member],
    lines: Sequence[Line],
    line_index: dict[str, int],
    barred: dict[int, set[int]],
) -> tuple[list[Reading], list[Reading], dict[tuple[int, int], str]]:
    main, reserve = [], []
    dropped: dict[tuple[int, int], str] = {}
    for place, member in enumerate(members):
        try:
            # Tuples of numbers, not lists: the garbage collector passes them over.
            asked = tuple(map(line_index.__getitem__, member.main + member.reserve))
        except KeyError as missing:
            raise BadInput(
                f"Member {member.number} wishes for line {missing.args[0]}, which is not on the"
                " list.",
                field="main",
            ) from missing
        positions: Sequence[int] = range(1, len(asked) + 1)
        firsts = len(member.main)
        if place in barred or len(set(asked)) < len(asked):
            reasons = _reasons_to_drop(asked, lines, barred.get(place, set()))
            dropped.update(((place, position), reason) for position, reason in reasons.items())
            positions = tuple(position for position in positions if position not in reasons)
            asked = tuple(asked[position - 1] for position in positions)
            firsts -= sum(position <= firsts for position in reasons)
        main.append(Reading(asked[:firsts], positions[:firsts]))
        reserve.append(Reading(asked[firsts:], positions[firsts:]))
    return main, reserve, dropped


def _reasons_to_drop(
    asked: Sequence[int], lines: Sequence[Line], barred: set[int]
) -> dict[int, str]:
    reasons = {}
    times: Counter[int] = Counter()
    for position, line in enumerate(asked, start=1):
        times[line] += 1
        if line in barred:
            reasons[position] = BARRED
        elif times[line] > lines[line].copies:
            reasons[position] = DUPLICATE
    return reasons


def _plentiful(
    inputs: Inputs,
    members: Sequence[Member],
    lines: Sequence[Line],
    line_index: dict[str, int],
    dropped: dict[tuple[int, int], str],
) -> list[bool]:
    """Say of each line whether it has enough for every main wish that is not barred."""
    if inputs.plentiful is not None:
        named = {_found(line_index, number, "line", "plentiful") for number in inputs.plentiful}
        return [line in named for line in range(len(lines))]
    wishes = Counter(chain.from_iterable(member.main for member in members))
    for (member_place, position), reason in dropped.items():
        main = members[member_place].main
        if reason == BARRED and position <= len(main):
            wishes[main[position - 1]] -= 1
    return [line.stock >= wishes[line.number] for line in lines]


def _houses(inputs: Inputs, members: Sequence[Member]) -> list[int]:
    if not inputs.options.one_per_household:
        return [-1] * len(members)
    sizes = Counter(member.household for member in members if member.household)
    shared = sorted(name for name, size in sizes.items() if size > 1)
    numbers = {name: place for place, name in enumerate(shared)}
    return [numbers.get(member.household, -1) for member in members]
