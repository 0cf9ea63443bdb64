"""The table at which members take packets: what is left, who has room, what was taken when."""

from collections import Counter
from collections.abc import Iterator, Sequence

from seedbank.calc.allocation.model import MAKE_GOOD, Packet, Pass, Policy, Result
from seedbank.calc.allocation.workings import Reading, Workings, unlisted_packets

LIST_ENDS = 0

# Member, line, phase, position, turn, and whether the packet was hers already.
_Taken = tuple[int, int, str, int, int, bool]


class Desk:
    """The changing side of a sharing-out by turns; `Workings` is the side that stands still.

    `turn` is the number of the turn being taken; `closing_turns` says for each line in which
    turn its last packet went, once it has none.
    """

    def __init__(self, work: Workings) -> None:
        self.work = work
        self.turn = 0
        self._taken: list[_Taken] = []
        self.closing_turns = {line: 0 for line, packets in enumerate(work.left) if not packets}
        self._left = list(work.left)
        self._room = list(work.room)
        self._uncounted = {member: Counter(lines) for member, lines in work.frozen.items()}
        self._made_good: set[tuple[int, int]] = set()
        self._house_has: Counter[tuple[int, int]] = Counter()
        for member, lines in work.frozen.items():
            for line, packets in lines.items():
                self._house_has[work.house[member], line] += packets

    def unread(self, member: int, reading: Reading) -> Iterator[tuple[int, int]]:
        """Return the wishes a member has yet to read, without those that were made good."""
        wishes = zip(reading.lines, reading.positions, strict=True)
        if not self._made_good:
            return wishes
        return (wish for wish in wishes if (member, wish[1]) not in self._made_good)

    def read_on(
        self,
        member: int,
        phase: str,
        unread: Iterator[tuple[int, int]],
        costs_no_turn: Sequence[bool],
    ) -> int:
        """Let a member read on to the end of her turn; return the place of the last wish read.

        The turn ends with a packet of a line that costs a turn, or with the list: then the
        return value is `LIST_ENDS`. Lines in `costs_no_turn` are marked True.
        """
        uncounted = self._uncounted.get(member)
        if uncounted or self.work.house[member] >= 0:
            return self._read_on_with_care(member, phase, unread, costs_no_turn)
        left, room = self._left, self._room
        if not room[member]:
            return LIST_ENDS
        for line, position in unread:
            if left[line]:
                self._take(member, line, phase, position)
                if not costs_no_turn[line]:
                    return position
                if not room[member]:
                    return LIST_ENDS
        return LIST_ENDS

    def _read_on_with_care(
        self,
        member: int,
        phase: str,
        unread: Iterator[tuple[int, int]],
        costs_no_turn: Sequence[bool],
    ) -> int:
        """Read on for a member with packets that are hers already, or who shares a household."""
        left, room = self._left, self._room
        uncounted = self._uncounted.get(member, Counter())
        for line, position in unread:
            if uncounted.get(line):
                uncounted[line] -= 1
                self._taken.append((member, line, phase, position, self.turn, True))
            elif left[line] and room[member] and not self._house_is_served(member, line):
                self._take(member, line, phase, position)
            else:
                continue
            if not costs_no_turn[line]:
                return position
        return LIST_ENDS

    def make_good_all(self) -> list[Pass]:
        """Give each packet that is owed for one lost, before the first pass; return that pass."""
        owed = Counter(self.work.inputs.make_good)
        if not owed:
            return []
        for member in self.work.turn_order:
            for _ in range(owed[self.work.members[member].number]):
                self.turn += 1
                self._make_good(member)
        return [Pass(MAKE_GOOD, 1, 1)]

    def result(
        self,
        policy: Policy,
        engine: str,
        passes: list[Pass],
        last_turns: dict[str, tuple[int, int]],
    ) -> Result:
        """Write down what was taken and what was left."""
        return Result(
            policy=policy,
            engine=engine,
            packets=(*unlisted_packets(self.work), *self._packets()),
            closing_turns={
                self.work.lines[line].number: turn
                for line, turn in sorted(self.closing_turns.items())
            },
            full=tuple(
                member.number
                for member, room in zip(self.work.members, self._room, strict=True)
                if not room
            ),
            last_turns=last_turns,
            passes=tuple(passes),
            plentiful=self.work.plentiful_numbers,
            prices={},
        )

    def _packets(self) -> Iterator[Packet]:
        """Return what was taken, under the numbers of members and lines."""
        members = [member.number for member in self.work.members]
        lines = [line.number for line in self.work.lines]
        for member, line, phase, position, turn, was_frozen in self._taken:
            yield Packet(members[member], lines[line], phase, position, turn, was_frozen)

    def _make_good(self, member: int) -> None:
        """Give a member who lost a packet the first wish she can still have, before all others."""
        spare = Counter(self.work.frozen.get(member, {}))
        for reading in (self.work.main[member], self.work.reserve[member]):
            for line, position in zip(reading.lines, reading.positions, strict=True):
                if spare[line]:
                    spare[line] -= 1
                elif not self._room[member]:
                    return
                elif (
                    self._left[line]
                    and not self._house_is_served(member, line)
                    and (member, position) not in self._made_good
                ):
                    self._take(member, line, MAKE_GOOD, position)
                    self._made_good.add((member, position))
                    return

    def _house_is_served(self, member: int, line: int) -> bool:
        house = self.work.house[member]
        return house >= 0 and self._house_has[house, line] >= self.work.lines[line].copies

    def _take(self, member: int, line: int, phase: str, position: int) -> None:
        self._left[line] -= 1
        self._room[member] -= 1
        house = self.work.house[member]
        if house >= 0:
            self._house_has[house, line] += 1
        if not self._left[line]:
            self.closing_turns[line] = self.turn
        self._taken.append((member, line, phase, position, self.turn, False))
