"""What the sharing-out is given and what it gives back, as plain frozen records."""

from dataclasses import dataclass, field
from typing import Literal, NamedTuple

Policy = Literal["turns", "straight", "even"]
POLICIES: tuple[Policy, ...] = ("turns", "straight", "even")

# Where in her reading a member got a packet. A packet in nobody's list has no phase.
MAIN = "main"
RESERVE = "reserve"
MAKE_GOOD = "make good"
UNLISTED = ""

GOT = "GOT"
PLENTIFUL = "PLENTIFUL"
PACKED = "PACKED"
GONE = "GONE"
FULL = "FULL"
BARRED = "BARRED"
DUPLICATE = "DUPLICATE"
HOUSEHOLD = "HOUSEHOLD"
WITHDRAWN = "WITHDRAWN"


@dataclass(frozen=True, slots=True)
class Member:
    """One member's part in the sharing-out.

    `tier` 0 is a donor, 1 an ordinary member; further tiers may follow. `allowance` counts
    packets. `household` is a name shared by members of one house, or empty. `main` and `reserve`
    are line numbers, most wanted first; a line named twice asks for two packets.
    """

    number: str
    tier: int
    allowance: int
    main: tuple[str, ...] = ()
    reserve: tuple[str, ...] = ()
    household: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the seed list.

    `stock` is all packets free to share out, the frozen ones among them. `copies` is the most
    packets of the line one member may have. A `withdrawn` line has nothing to give beyond what
    is already frozen.
    """

    number: str
    stock: int
    copies: int = 1
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class Bar:
    """A line that must not go to a member, with the words of the rule that says so."""

    member: str
    line: str
    rule: str


@dataclass(frozen=True, slots=True)
class Frozen:
    """A packet that is already a member's and stays so: packed, announced, or her own kept back.

    `counts` says whether it uses up a part of her allowance.
    """

    member: str
    line: str
    counts: bool = True


@dataclass(frozen=True, slots=True)
class Options:
    """What the society decided before the draw.

    `plentiful_free`: a line with enough for all who ask costs no turn. `head_start`: how many
    passes the donors have to themselves, or "strict" to let every donor finish first.
    `one_per_household`: members of one house share the cap of a line.
    """

    plentiful_free: bool = True
    head_start: int | Literal["strict"] = 0
    one_per_household: bool = False


@dataclass(frozen=True, slots=True)
class Inputs:
    """Everything a sharing-out depends on; nothing else may change its outcome.

    `order` is the draw, all members from first to last, `draw_seed` the 32 bytes it follows from,
    empty where the order came about otherwise. `plentiful` are the lines that had
    enough for every main wish when wishes closed; None lets it be worked out, a later run is
    given the earlier one's. `make_good` names the members who lost a packet through no fault of
    theirs, once for each packet.
    """

    event: str
    policy: Policy
    members: tuple[Member, ...]
    lines: tuple[Line, ...]
    order: tuple[str, ...]
    bars: tuple[Bar, ...] = ()
    frozen: tuple[Frozen, ...] = ()
    plentiful: tuple[str, ...] | None = None
    make_good: tuple[str, ...] = ()
    draw_seed: bytes = b""
    options: Options = field(default_factory=Options)


class Packet(NamedTuple):
    """A packet that goes to a member; there are hundreds of thousands of them in a large society.

    `position` is the place in her whole list, from 1, main wishes before reserves; 0 if the
    packet stands in no list of hers. `turn` is 0 where the policy knows no turns.
    """

    member: str
    line: str
    phase: str
    position: int
    turn: int
    was_frozen: bool


@dataclass(frozen=True, slots=True)
class Pass:
    """A pass over the members and the number of its first turn."""

    phase: str
    number: int
    first_turn: int


@dataclass(frozen=True, slots=True)
class Result:
    """What came of it; every reason can be told from this and the inputs.

    `closing_turns` holds, for each line with nothing left, the turn in which its last packet
    went (0: it had none to give). `last_turns` holds each member's last turn among the main
    wishes and among the reserves (0: none). `prices` is the proof of an `even` result: see
    `seedbank.calc.allocation.even`.
    """

    policy: Policy
    engine: str
    packets: tuple[Packet, ...]
    closing_turns: dict[str, int]
    full: tuple[str, ...]
    last_turns: dict[str, tuple[int, int]]
    passes: tuple[Pass, ...]
    plentiful: tuple[str, ...]
    prices: dict[str, int]
