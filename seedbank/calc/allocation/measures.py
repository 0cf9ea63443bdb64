"""The table that lets a keeper choose a policy, and the report on what ran short."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from seedbank.calc.allocation.model import Inputs, Result
from seedbank.calc.allocation.outcomes import Record, records
from seedbank.calc.allocation.reasons import main_wishes
from seedbank.calc.allocation.workings import byte_order

MOST_PAIRS = 20_000


@dataclass(frozen=True, slots=True)
class Share:
    """So many of so many; `of` may be 0, then there is no share to speak of."""

    met: int
    of: int


@dataclass(frozen=True, slots=True)
class Measures:
    """What a sharing-out did for the members.

    first_choices : members who got their first wish, of those with a list.
    top_three : members who got one of their first three.
    filled : packets, of what allowances and lists had room for.
    packets, packets_left : packets given, and left over.
    mean_rank : mean place in the list of the packets given, None without any.
    worst_served : the smallest share of what her allowance and list had room for that any one
        member got, as packets of packets, None without members who wish for anything.
    empty_handed : members with a list and no packet.
    envy : ordered pairs of members of one tier and allowance, of those compared, of which the
        first might prefer the other's parcel: somewhere down her main wishes the other has more
        of her best ones than she has.
    envy_beyond_one : the same, when the packets both have are left aside and the best of the
        rest is forgiven; `turns` promises none, while nothing is frozen and no household
        shares a cap.
    basis : how many pairs were compared, in words.
    """

    first_choices: Share
    top_three: Share
    filled: Share
    packets: int
    packets_left: int
    mean_rank: float | None
    worst_served: Share | None
    empty_handed: int
    envy: Share
    envy_beyond_one: Share
    basis: str


@dataclass(frozen=True, slots=True)
class Shortage:
    """A line with more main wishes than packets."""

    line: str
    stock: int
    wishes: int
    unmet: int


def measure(inputs: Inputs, result: Result, most_pairs: int = MOST_PAIRS) -> Measures:
    """Return what a sharing-out did for the members.

    Parameters
    ----------
    inputs, result
        A sharing-out; several results of the same inputs make the table.
    most_pairs : int
        How many pairs of members to compare for envy at most. If there are more, each member is
        compared with the same number of members who follow in the draw; nothing is left to
        chance.
    """
    asking = [record for record in records(inputs, result) if _usable(record)]
    positions = [
        packet.position for record in asking for packet in record.packets if packet.position
    ]
    served = [
        Share(len(record.packets), min(record.member.allowance, len(_usable(record))))
        for record in asking
    ]
    served = [share for share in served if share.of]
    envious, beyond_one, pairs, possible = _envy(inputs, asking, most_pairs)
    return Measures(
        first_choices=Share(_with_one_of_first(asking, 1), len(asking)),
        top_three=Share(_with_one_of_first(asking, 3), len(asking)),
        filled=Share(
            sum(min(share.met, share.of) for share in served), sum(share.of for share in served)
        ),
        packets=len(result.packets),
        packets_left=sum(line.stock for line in inputs.lines) - len(result.packets),
        mean_rank=sum(positions) / len(positions) if positions else None,
        worst_served=min(served, key=lambda share: share.met / share.of, default=None),
        empty_handed=sum(not record.packets for record in asking),
        envy=Share(envious, pairs),
        envy_beyond_one=Share(beyond_one, pairs),
        basis=f"{len(asking)} members with wishes; {pairs:,} of {possible:,} pairs compared",
    )


def shortages(inputs: Inputs) -> tuple[Shortage, ...]:
    """Return the lines with fewer packets than main wishes, most unmet wishes first.

    This is what packets may be split for, before the run.
    """
    wishes = main_wishes(inputs)
    short = [
        Shortage(line.number, line.stock, wishes[line.number], wishes[line.number] - line.stock)
        for line in inputs.lines
        if wishes[line.number] > line.stock
    ]
    return tuple(sorted(short, key=lambda each: (-each.unmet, byte_order(each.line))))


def prefers_beyond_one(wishes: Sequence[str], own: Sequence[str], other: Sequence[str]) -> bool:
    """Say whether another's packets, less the best of them, may be worth more than one's own.

    `wishes` ranks the lines. Packets of a line that both have are left out of `other`. It may be
    worth more if for some k it holds more of the k best wishes.

    Examples
    --------
    >>> prefers_beyond_one(["A", "B", "C"], own=["C"], other=["A"])
    False
    >>> prefers_beyond_one(["A", "B", "C"], own=["C"], other=["A", "B"])
    True
    """
    other_only = Counter(other) - Counter(own)
    return _lead(wishes, own, list(other_only.elements())) > 1


def _lead(wishes: Sequence[str], own: Sequence[str], other: Sequence[str]) -> int:
    """Return the most packets the other is ahead by among the k best wishes, over all k."""
    own_left, other_left = Counter(own), Counter(other)
    lead = most = 0
    for line in wishes:
        if other_left[line]:
            other_left[line] -= 1
            lead += 1
        if own_left[line]:
            own_left[line] -= 1
            lead -= 1
        most = max(most, lead)
    return most


def _envy(inputs: Inputs, asking: Sequence[Record], most_pairs: int) -> tuple[int, int, int, int]:
    """Return pairs with envy, with envy beyond one, pairs compared and pairs there are."""
    place = {number: position for position, number in enumerate(inputs.order)}
    groups: dict[tuple[int, int], list[Record]] = defaultdict(list)
    for record in sorted(asking, key=lambda record: place[record.member.number]):
        groups[record.member.tier, record.member.allowance].append(record)
    followers = max(1, most_pairs // max(1, len(asking)))
    envious = beyond_one = compared = possible = 0
    for group in groups.values():
        possible += len(group) * (len(group) - 1)
        for step in range(1, min(followers, len(group) - 1) + 1):
            for here, record in enumerate(group):
                other = group[(here + step) % len(group)]
                wishes = [line for line in record.member.main if line not in record.bars]
                wanted = set(wishes)
                theirs = [packet.line for packet in other.packets if packet.line in wanted]
                own = [packet.line for packet in record.packets]
                compared += 1
                envious += _lead(wishes, own, theirs) > 0
                beyond_one += prefers_beyond_one(wishes, own, theirs)
    return envious, beyond_one, compared, possible


def _usable(record: Record) -> list[str]:
    wishes = (*record.member.main, *record.member.reserve)
    return [line for line in wishes if line not in record.bars]


def _with_one_of_first(asking: Sequence[Record], positions: int) -> int:
    return sum(
        any(0 < packet.position <= positions for packet in record.packets) for record in asking
    )
