"""One plain sentence for every wish; it never names another member."""

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from seedbank.calc.allocation.model import (
    BARRED,
    DUPLICATE,
    FULL,
    GONE,
    GOT,
    HOUSEHOLD,
    MAKE_GOOD,
    PACKED,
    PLENTIFUL,
    RESERVE,
    WITHDRAWN,
    Inputs,
    Line,
    Result,
)
from seedbank.calc.allocation.outcomes import Outcome, Record, outcomes

MOST_CHOICES_NAMED = 6


def main_wishes(inputs: Inputs) -> Counter[str]:
    """Return how many main wishes that are not barred each line has."""
    barred = {(bar.member, bar.line) for bar in inputs.bars}
    return Counter(
        line
        for member in inputs.members
        for line in member.main
        if (member.number, line) not in barred
    )


def sentences(
    record: Record,
    lines: Mapping[str, Line],
    wishes: Mapping[str, int],
    inputs: Inputs,
    result: Result,
) -> tuple[str, ...]:
    """Return a sentence for each wish of a member, in the order of her list.

    Parameters
    ----------
    record : Record
        What concerns the member.
    lines : mapping of str to Line
        At least the lines she asked for.
    wishes : mapping of str to int
        Main wishes of each of these lines, from `main_wishes`.
    inputs, result
        As for `outcomes`.
    """
    return tuple(
        _TELL[outcome.code](
            _Case(outcome, record, lines[outcome.line], wishes[outcome.line], result)
        )
        for outcome in outcomes(record, lines, inputs, result)
    )


def ordinal(number: int) -> str:
    """Return 1st, 2nd, 3rd and so on.

    Examples
    --------
    >>> [ordinal(number) for number in (1, 2, 3, 4, 11, 12, 13, 21, 102, 111)]
    ['1st', '2nd', '3rd', '4th', '11th', '12th', '13th', '21st', '102nd', '111th']
    """
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{'th' if number % 100 in {11, 12, 13} else ending}"


@dataclass(frozen=True, slots=True)
class _Case:
    """One wish and what its sentence is made from."""

    outcome: Outcome
    record: Record
    line: Line
    wishes: int
    result: Result

    @property
    def choice(self) -> str:
        return ordinal(self.outcome.position)

    def when(self, turn: int) -> str:
        """Return the pass and the number of a turn, in words."""
        if self.result.policy == "straight":
            return f"turn {turn}"
        began = bisect_right([each.first_turn for each in self.result.passes], turn) - 1
        of_reserves = " of the reserves" if self.result.passes[began].phase == RESERVE else ""
        return f"pass {self.result.passes[began].number}{of_reserves}, turn {turn}"


def _got(case: _Case) -> str:
    choice = f"Your {case.choice} choice"
    if case.outcome.phase == RESERVE:
        choice += ", a reserve"
    if case.result.policy == "even":
        return f"{choice}."
    made_good = any(
        packet.phase == MAKE_GOOD and packet.position == case.outcome.position
        for packet in case.record.packets
    )
    if made_good:
        return f"{choice}, to make good a packet that was lost."
    return f"{choice}, taken in {case.when(case.outcome.turn)}."


def _gone(case: _Case) -> str:
    supply = f"{_packets(case.line.stock)}, {_count(case.wishes, 'main wish', 'main wishes')}."
    if case.result.policy == "even":
        return (
            f"{supply} One could reach you only by leaving somebody else with fewer packets than"
            " you have, or others further down their lists than it would bring you up yours."
        )
    closed_at = case.result.closing_turns[case.line.number]
    went = f"The last went in {case.when(closed_at)}." if closed_at else "All were spoken for."
    reached = f"You reached this wish in {case.when(case.outcome.turn)}"
    return f"{supply} {went} {reached}; {_taken_before(case)}."


def _taken_before(case: _Case) -> str:
    taken = sorted(
        packet.position
        for packet in case.record.packets
        if 0 < packet.position < case.outcome.position
    )
    if not taken:
        return "before it you had taken none"
    if len(taken) > MOST_CHOICES_NAMED:
        return f"before it you had taken {len(taken)} higher choices"
    named = [ordinal(position) for position in taken]
    listed = " and ".join(filter(None, [", ".join(named[:-1]), named[-1]]))
    return f"before it you had taken your {listed} choice"


def _full(case: _Case) -> str:
    allowance = _packets(case.record.member.allowance)
    ranked_higher = case.result.policy != "even" and all(
        0 < packet.position < case.outcome.position for packet in case.record.packets
    )
    return f"You already had {allowance}{', all ranked higher by you' if ranked_higher else ''}."


_TELL: dict[str, Callable[[_Case], str]] = {
    GOT: _got,
    PACKED: lambda case: f"Your {case.choice} choice; this packet was already yours.",
    PLENTIFUL: lambda case: f"There was enough for all {case.wishes} who asked.",
    GONE: _gone,
    FULL: _full,
    BARRED: lambda case: f"Barred for you: {case.record.bars[case.line.number]}",
    DUPLICATE: lambda case: (
        f"A member may have {_packets(case.line.copies)} of this line; you asked for more."
    ),
    HOUSEHOLD: lambda case: (
        f"Your household already has its {_packets(case.line.copies)} of this line."
    ),
    WITHDRAWN: lambda case: "This line was withdrawn.",
}


def _packets(count: int) -> str:
    return _count(count, "packet", "packets")


def _count(count: int, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}"
