"""The table that lets a keeper choose a policy, and the report on what ran short."""

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
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


def lead(own: Sequence[int], other: Sequence[int]) -> int:
    """Return by how many packets another parcel is ahead among the k best wishes, over all k.

    Parameters
    ----------
    own, other : sequence of int
        Places, in one member's list, of the wishes that her own and the other parcel would meet,
        in rising order.

    Examples
    --------
    >>> lead([3], [1])
    1
    >>> lead([1, 2, 5], [3, 4])
    0
    """
    ahead = (count - bisect_right(own, place) for count, place in enumerate(other, start=1))
    return max(0, *ahead) if other else 0


@dataclass(frozen=True, slots=True)
class _Parcel:
    """A member's packets, and where each line stands among her main wishes."""

    lines: list[str]
    own_places: list[int]
    places: dict[str, list[int]]

    def places_of(self, lines: Iterable[str]) -> list[int]:
        """Return where lines would meet main wishes, each wish once, in rising order."""
        counted = Counter(line for line in lines if line in self.places)
        return sorted(
            place for line, packets in counted.items() for place in self.places[line][:packets]
        )


def _parcel(record: Record) -> _Parcel:
    places: dict[str, list[int]] = defaultdict(list)
    for place, line in enumerate(record.member.main, start=1):
        if line not in record.bars:
            places[line].append(place)
    own_places = sorted(packet.position for packet in record.packets if packet.position)
    return _Parcel([packet.line for packet in record.packets], own_places, dict(places))


def _envy(inputs: Inputs, asking: Sequence[Record], most_pairs: int) -> tuple[int, int, int, int]:
    """Return pairs with envy, with envy beyond one, pairs compared and pairs there are."""
    place = {number: position for position, number in enumerate(inputs.order)}
    groups: dict[tuple[int, int], list[_Parcel]] = defaultdict(list)
    for record in sorted(asking, key=lambda record: place[record.member.number]):
        groups[record.member.tier, record.member.allowance].append(_parcel(record))
    followers = max(1, most_pairs // max(1, len(asking)))
    envious = beyond_one = compared = possible = 0
    for group in groups.values():
        possible += len(group) * (len(group) - 1)
        for step in range(1, min(followers, len(group) - 1) + 1):
            for here, parcel in enumerate(group):
                other = group[(here + step) % len(group)].lines
                compared += 1
                # Whoever does not envy at all does not envy beyond one packet either.
                if lead(parcel.own_places, parcel.places_of(other)) == 0:
                    continue
                envious += 1
                other_only = (Counter(other) - Counter(parcel.lines)).elements()
                beyond_one += lead(parcel.own_places, parcel.places_of(other_only)) > 1
    return envious, beyond_one, compared, possible


def _usable(record: Record) -> list[str]:
    wishes = (*record.member.main, *record.member.reserve)
    return [line for line in wishes if line not in record.bars]


def _with_one_of_first(asking: Sequence[Record], positions: int) -> int:
    return sum(
        any(0 < packet.position <= positions for packet in record.packets) for record in asking
    )
