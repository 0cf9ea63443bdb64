"""Small exchanges for the tests, and the sharing-out by turns written a second time, word for word.

The second writing follows the published description of the policy line by line, slow and plain, so
that it can judge the engine: neither knows the other.
"""

from collections import Counter
from dataclasses import dataclass

from hypothesis import strategies as st

from seedbank.calc.allocation import Bar, Frozen, Inputs, Line, Member, Options

NUMBERS = ("11", "12", "13", "14", "15")
LINES = ("1", "2", "3", "4")


@dataclass(frozen=True)
class Taken:
    member: str
    line: str
    position: int
    turn: int
    was_frozen: bool


def by_the_book(inputs: Inputs) -> tuple[list[Taken], dict[str, int]]:
    """Share out by turns as the description says; returns what was taken and the closing turns."""
    stock = {line.number: line.stock for line in inputs.lines}
    copies = {line.number: line.copies for line in inputs.lines}
    member_of = {member.number: member for member in inputs.members}
    frozen = Counter((packet.member, packet.line) for packet in inputs.frozen)
    barred = {(bar.member, bar.line) for bar in inputs.bars}
    left = {
        line: stock[line] - sum(n for (_m, of), n in frozen.items() if of == line) for line in stock
    }
    room = {
        number: max(0, member.allowance - sum(n for (of, _l), n in frozen.items() if of == number))
        for number, member in member_of.items()
    }
    asked = Counter(
        line for m in inputs.members for line in m.main if (m.number, line) not in barred
    )
    plentiful = {line for line in stock if stock[line] >= asked[line]}
    if inputs.plentiful is not None:
        plentiful = set(inputs.plentiful)
    entries: dict[str, dict[str, list[tuple[str, int]]]] = {}
    for number, member in member_of.items():
        seen: Counter[str] = Counter()
        entries[number] = {"main": [], "reserve": []}
        whole = [
            *((line, "main") for line in member.main),
            *((line, "reserve") for line in member.reserve),
        ]
        for position, (line, phase) in enumerate(whole, start=1):
            if (number, line) in barred:
                continue
            seen[line] += 1
            if seen[line] > copies[line]:
                continue
            entries[number][phase].append((line, position))
    uncounted = Counter(frozen)
    holds = Counter(frozen)
    taken: list[Taken] = []
    closing = {line: 0 for line, packets in left.items() if packets == 0}
    turn = 0

    def household_has(number: str, line: str) -> int:
        house = member_of[number].household
        if not (house and inputs.options.one_per_household):
            return -1
        return sum(
            holds[other.number, line] for other in inputs.members if other.household == house
        )

    for phase in ("main", "reserve"):
        at = dict.fromkeys(member_of, 0)
        own_pass: Counter[int] = Counter()
        number_of_pass = 0
        while any(at[number] < len(entries[number][phase]) for number in member_of):
            number_of_pass += 1
            for tier in sorted({member.tier for member in inputs.members}):
                unread = [
                    n for n in inputs.order
                    if member_of[n].tier == tier and at[n] < len(entries[n][phase])
                ]  # fmt: skip
                head_start = inputs.options.head_start
                if (
                    tier > 0
                    and phase == "main"
                    and head_start != "strict"
                    and number_of_pass <= head_start
                ):
                    continue
                if (
                    tier > 0
                    and head_start == "strict"
                    and any(
                        at[n] < len(entries[n][phase])
                        for n in member_of
                        if member_of[n].tier < tier
                    )
                ):
                    continue
                if not unread:
                    continue
                own_pass[tier] += 1
                for number in reversed(unread) if own_pass[tier] % 2 == 0 else unread:
                    turn += 1
                    while at[number] < len(entries[number][phase]):
                        line, position = entries[number][phase][at[number]]
                        at[number] += 1
                        if uncounted[number, line]:
                            uncounted[number, line] -= 1
                            taken.append(Taken(number, line, position, turn, True))
                        elif (
                            room[number] == 0
                            or left[line] <= 0
                            or household_has(number, line) >= copies[line]
                        ):
                            continue
                        else:
                            left[line] -= 1
                            room[number] -= 1
                            holds[number, line] += 1
                            taken.append(Taken(number, line, position, turn, False))
                            if left[line] == 0:
                                closing[line] = turn
                        if phase == "main" and inputs.options.plentiful_free and line in plentiful:
                            continue
                        break
    return taken, closing


@st.composite
def exchanges(draw: st.DrawFn, *, with_households: bool = True) -> Inputs:
    """Make a tiny exchange: few members, few lines, too few packets."""
    numbers = NUMBERS[: draw(st.integers(1, 5))]
    lines = LINES[: draw(st.integers(1, 4))]
    wishes = st.lists(st.sampled_from(lines), max_size=5)
    members = tuple(
        Member(
            number=number,
            tier=draw(st.integers(0, 1)),
            allowance=draw(st.integers(0, 4)),
            main=tuple(draw(wishes)),
            reserve=tuple(draw(wishes)),
            household=draw(st.sampled_from(["", "Mill House"])) if with_households else "",
        )
        for number in numbers
    )
    return Inputs(
        event="tiny",
        policy="turns",
        members=members,
        lines=tuple(
            Line(number, stock=draw(st.integers(0, 3)), copies=draw(st.integers(1, 2)))
            for number in lines
        ),
        order=tuple(draw(st.permutations(numbers))),
        bars=tuple(
            Bar(number, line, "may not be sent there")
            for number in numbers
            for line in lines
            if draw(st.integers(0, 9)) == 0
        ),
        options=Options(
            plentiful_free=draw(st.booleans()),
            head_start=draw(st.sampled_from([0, 1, 2, "strict"])),
            one_per_household=with_households and draw(st.booleans()),
        ),
    )


def frozen_from(packets: list[tuple[str, str]]) -> tuple[Frozen, ...]:
    return tuple(Frozen(member, line) for member, line in packets)
