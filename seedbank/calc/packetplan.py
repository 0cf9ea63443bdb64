"""From a seed count to packets: how many seeds each, how many packets, and what is kept back.

The grower's own share and the society's reserve come off the count first, each rounded up to a
whole seed, so that neither is shorted by the rounding; packets are filled from the rest, and what
fills no packet is left over. Nothing is rounded away: own, reserve, packets and leftover add up to
the count.
"""

import operator
from dataclasses import dataclass

from scipy.special import bdtrc

from crosses.calc.errors import BadInput
from crosses.calc.rates import Share

OWN_PERCENT = 20
RESERVE_PERCENT = 5
MOST_SEEDS_PER_PACKET = 100_000

# A spread from one or two years is no spread.
FEWEST_YEARS_OF_DEMAND = 3


@dataclass(frozen=True, slots=True)
class PacketSize:
    """Seeds to put in a packet so that it gives the seedlings wanted.

    Attributes
    ----------
    seeds : int
        At the germination found.
    seeds_if_poor : int or None
        At the lower end of its interval; None where that end promises no seedling at all.
    sentence : str
        Both for a person, with what they rest on.

    """

    seeds: int
    seeds_if_poor: int | None
    sentence: str


@dataclass(frozen=True, slots=True)
class PacketPlan:
    """How a count of seeds is divided; the parts add up to `seeds`.

    Attributes
    ----------
    seeds : int
        Seeds to divide.
    own, reserve : int
        Seeds kept by the grower and by the society.
    packets, seeds_per_packet : int
        Packets to make, and seeds in each.
    leftover : int
        Seeds that fill no packet.

    """

    seeds: int
    own: int
    reserve: int
    packets: int
    seeds_per_packet: int
    leftover: int


def seeds_needed(seedlings: int, germination: float, confidence: float = 0.95) -> int:
    """Fewest seeds that give at least so many seedlings with that chance (binomial).

    Parameters
    ----------
    seedlings : int
        Seedlings wanted, 1 or more.
    germination : float
        Share of seeds that germinate, above 0 and at most 1.
    confidence : float
        Chance wanted, between 0 and 1.

    Raises
    ------
    BadInput
        If a value is out of range, or more than 100,000 seeds would be needed.

    Examples
    --------
    >>> seeds_needed(5, 0.40)
    21

    """
    wanted = _whole(seedlings, "seedlings", least=1)
    if not 0 < germination <= 1:
        raise BadInput("Germination must be above 0 and at most 100 %.", field="germination")
    if not 0 < confidence < 1:
        raise BadInput("The chance wanted lies between 0 and 100 %.", field="confidence")

    def is_enough(seeds: int) -> bool:
        # The chance is reckoned to about fourteen digits; a tie must not cost a seed.
        return bool(bdtrc(wanted - 1, seeds, germination) >= confidence - 1e-12)

    enough = wanted
    while not is_enough(enough):
        enough *= 2
        if enough > MOST_SEEDS_PER_PACKET:
            raise BadInput(
                "So little germinates that no packet would do: raise fresh seed instead.",
                field="germination",
            )
    short = enough // 2
    while enough - short > 1:
        middle = (enough + short) // 2
        if middle >= wanted and is_enough(middle):
            enough = middle
        else:
            short = middle
    return enough


def packet_size(seedlings: int, germination: Share, confidence: float = 0.95) -> PacketSize:
    """Seeds per packet for so many seedlings, at the germination found and at its lower end.

    Parameters
    ----------
    seedlings : int
        Seedlings a packet should give.
    germination : Share
        As tested or counted, with its interval.
    confidence : float
        Chance wanted that a packet gives them.

    Raises
    ------
    BadInput
        If nothing was tested or nothing germinated, or a value is out of range.

    """
    if not germination.estimate:
        raise BadInput(
            "Without one seed known to germinate there is no packet size to give.",
            field="germination",
        )
    seeds = seeds_needed(seedlings, germination.estimate, confidence)
    basis = (
        f"{seeds} seeds give at least {seedlings} seedling{'' if seedlings == 1 else 's'} in "
        f"{confidence:.0%} of packets if {germination.estimate:.0%} germinate "
        f"({germination.x} of {germination.n})"
    )
    try:
        seeds_if_poor = seeds_needed(seedlings, germination.low, confidence)
    except BadInput:
        return PacketSize(seeds, None, f"{basis}; the test is too small to promise any.")
    return PacketSize(
        seeds, seeds_if_poor, f"{basis}; {seeds_if_poor} if only {germination.low:.0%} do."
    )


def plan_packets(
    seeds: int,
    *,
    seeds_per_packet: int,
    own_percent: int = OWN_PERCENT,
    reserve_percent: int = RESERVE_PERCENT,
) -> PacketPlan:
    """Divide a count of seeds into own share, reserve, packets and what is left over.

    Parameters
    ----------
    seeds : int
        Seeds in the lot. For an estimated lot plan on the lower end of the estimate, and no
        member is promised a packet that cannot be filled.
    seeds_per_packet : int
        Seeds in a packet, 1 or more.
    own_percent, reserve_percent : int
        Kept by the grower and by the society, in whole percent of the count; together at most 100.

    Raises
    ------
    BadInput
        If a number is out of range or not whole.

    Examples
    --------
    >>> plan = plan_packets(290, seeds_per_packet=25)
    >>> plan.own, plan.reserve, plan.packets, plan.leftover
    (58, 15, 8, 17)

    """
    count = _whole(seeds, "seeds", least=0)
    each = _whole(seeds_per_packet, "seeds_per_packet", least=1)
    own_part = _whole(own_percent, "own_percent", least=0)
    reserve_part = _whole(reserve_percent, "reserve_percent", least=0)
    if own_part + reserve_part > 100:
        raise BadInput(
            "Own share and reserve together cannot be more than the whole lot.",
            field="reserve_percent",
        )
    own = _part_rounded_up(count, own_part)
    reserve = min(_part_rounded_up(count, reserve_part), count - own)
    packets, leftover = divmod(count - own - reserve, each)
    return PacketPlan(count, own, reserve, packets, each, leftover)


def _whole(number: int, field: str, *, least: int) -> int:
    try:
        value = operator.index(number)
    except TypeError:
        raise BadInput(f"{number} is not a whole number.", field=field) from None
    if value < least:
        raise BadInput(f"{value} is too few: give {least} or more.", field=field)
    return value


def _part_rounded_up(count: int, percent: int) -> int:
    return -(-count * percent // 100)
