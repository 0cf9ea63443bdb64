"""Which movement of a packet may follow which, and what its movements add up to.

A packet's story begins with `made` and only ever grows. Its state is never typed: it is what the
last movement left it in, so that no packet is in two places or promised twice. A packet that was
sent is the recipient's, who keeps, divides, sows or discards it as any member does; it stays "sent",
so that the exchange can still be counted.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from crosses.calc.errors import BadInput

STATES = ("with_member", "in_store", "held", "packed", "sent", "sown", "split", "discarded")
"""Every state a packet can be in, in the order of its life."""

GONE = frozenset({"sown", "split", "discarded"})
"""States after which nothing more can happen."""

_FROM: dict[str, frozenset[str]] = {
    "made": frozenset(),
    "received": frozenset({"with_member"}),
    "moved": frozenset({"with_member", "in_store", "held", "sent"}),
    "held": frozenset({"in_store"}),
    "released": frozenset({"held"}),
    "packed": frozenset({"held"}),
    "unpacked": frozenset({"packed"}),
    "sent": frozenset({"packed"}),
    "returned": frozenset({"sent", "packed"}),
    "part_sown": frozenset({"with_member", "in_store", "sent"}),
    "sown": frozenset({"with_member", "in_store", "sent"}),
    "split": frozenset({"with_member", "in_store", "sent"}),
    # A promise is given up first, or its parcel would wait for a packet that is gone.
    "discarded": frozenset({"with_member", "in_store", "sent"}),
}
_INTO = {
    "received": "in_store",
    "held": "held",
    "released": "in_store",
    "packed": "packed",
    "unpacked": "held",
    "sent": "sent",
    "returned": "in_store",
    "sown": "sown",
    "split": "split",
    "discarded": "discarded",
}
KINDS = tuple(_FROM)
"""Every kind of movement."""

_IS = {
    "with_member": "is with a member",
    "in_store": "lies in the store",
    "held": "is promised to a parcel",
    "packed": "is packed in a parcel",
    "sent": "has been sent",
    "sown": "has been sown",
    "split": "has been split into other packets",
    "discarded": "was discarded",
}
_CANNOT = {
    "received": "only a packet that is with a member can be received",
    "moved": "it cannot be moved to another place",
    "held": "only a packet in the store can be promised",
    "released": "there is no promise to give up",
    "packed": "only a packet promised to a parcel can be packed",
    "unpacked": "only a packed packet can be taken out of a parcel",
    "sent": "only a packed packet can be sent",
    "returned": "only a packet that left the store can come back",
    "part_sown": "it cannot be sown",
    "sown": "it cannot be sown",
    "split": "it cannot be split",
    "discarded": "it cannot be discarded",
}


@dataclass(frozen=True, slots=True)
class Step:
    """One movement.

    Attributes
    ----------
    step : int
        1 for `made`, then one more each time.
    kind : str
        One of `KINDS`.
    place : int or None
        The place it was put in, where it was put somewhere.
    holder : int or None
        The member who has it from now on: the maker for `made`, the recipient for `sent`.
    seeds : int or None
        Seeds put in (`made`) or taken out (`part_sown`, `sown`).
    reference : str
        The parcel, sowing or run it belongs to.

    """

    step: int
    kind: str
    place: int | None = None
    holder: int | None = None
    seeds: int | None = None
    reference: str = ""


@dataclass(frozen=True, slots=True)
class State:
    """What a packet's movements add up to.

    Attributes
    ----------
    state : str
        One of `STATES`.
    place : int or None
        Where it lies; while it is packed, the tray it was taken from; None once it has left.
    holder : int or None
        The member who has it (`with_member`, `sent`) or had it last (`sown`, `split`,
        `discarded`); None while it is the bank's.
    seeds_left : int
        Seeds still in it.
    step : int
        The last step.

    """

    state: str
    place: int | None
    holder: int | None
    seeds_left: int
    step: int


@dataclass(frozen=True, slots=True)
class Balance:
    """How many packets are in each state; together they are the packets made.

    Attributes
    ----------
    made : int
        All packets.
    with_member, in_store, held, packed, sent, sown, split, discarded : int
        Packets in each state; they add up to `made`.

    """

    made: int
    with_member: int
    in_store: int
    held: int
    packed: int
    sent: int
    sown: int
    split: int
    discarded: int

    @property
    def sentence(self) -> str:
        """The sum in words, states without a packet left out."""
        if self.made == 0:
            return "No packet has been made yet."
        words = {
            "with_member": "with members",
            "in_store": "in store",
            "held": "promised",
            "packed": "packed",
            "sent": "sent",
            "sown": "sown",
            "split": "split",
            "discarded": "discarded",
        }
        parts = [f"{count} {words[state]}" for state in STATES if (count := getattr(self, state))]
        return f"{self.made} made = {' + '.join(parts)}."


def may_follow(state: str, kind: str) -> bool:
    """Say whether a packet in this state may have such a movement next.

    Parameters
    ----------
    state : str
        One of `STATES`.
    kind : str
        One of `KINDS`; `made` follows nothing.

    Examples
    --------
    >>> may_follow("in_store", "held"), may_follow("held", "held")
    (True, False)

    """
    return state in _FROM.get(kind, frozenset())


def next_state(now: State | None, movement: Step) -> State:
    """Return what a packet becomes by one more movement.

    Parameters
    ----------
    now : State or None
        Its state so far; None before it is made.
    movement : Step
        What happens to it. `made` needs seeds and a holder (or, made in the bank, a place);
        `received` and `returned` need a place, `sent` a holder, `part_sown` the seeds taken out.

    Raises
    ------
    BadInput
        If the movement cannot follow, its step is not the next one, or something is missing.

    Examples
    --------
    >>> made = next_state(None, Step(1, "made", holder=7, seeds=25))
    >>> next_state(made, Step(2, "received", place=3))
    State(state='in_store', place=3, holder=None, seeds_left=25, step=2)

    """
    if movement.kind not in _FROM:
        raise BadInput(f"Nothing called {movement.kind!r} happens to a packet.", field="kind")
    if now is None:
        return _made(movement)
    if not may_follow(now.state, movement.kind):
        raise BadInput(_why_not(now, movement.kind), field="kind")
    if movement.step != now.step + 1:
        raise BadInput(f"Step {now.step + 1} comes next, not step {movement.step}.", field="step")
    state = _INTO.get(movement.kind, now.state)
    place = _place(now, movement, state)
    holder = _holder(now, movement, state)
    return State(state, place, holder, _seeds_left(now, movement, state), movement.step)


def state_of(steps: Sequence[Step]) -> State:
    """Add up all movements of one packet, in order.

    Parameters
    ----------
    steps : sequence of Step
        From step 1 on.

    Raises
    ------
    BadInput
        If there is none, or one cannot follow the one before.

    """
    now: State | None = None
    for movement in steps:
        now = next_state(now, movement)
    if now is None:
        raise BadInput("A packet without a movement has never been made.", field="steps")
    return now


def balance(packets: Iterable[Sequence[Step]]) -> Balance:
    """Add up the movements of many packets.

    Parameters
    ----------
    packets : iterable of sequences of Step
        The movements of each packet.

    Raises
    ------
    BadInput
        As `state_of`.

    """
    return balance_of_states(Counter(state_of(steps).state for steps in packets))


def balance_of_states(packets_by_state: dict[str, int]) -> Balance:
    """Make a balance from packets already counted by state.

    Parameters
    ----------
    packets_by_state : dict
        Packets in each of `STATES`; a state left out has none.

    Examples
    --------
    >>> balance_of_states({"in_store": 3, "sent": 2}).sentence
    '5 made = 3 in store + 2 sent.'

    """
    counted = {state: packets_by_state.get(state, 0) for state in STATES}
    return Balance(made=sum(counted.values()), **counted)


def _made(movement: Step) -> State:
    if movement.kind != "made" or movement.step != 1:
        raise BadInput("A packet's first movement is that it is made.", field="kind")
    if movement.seeds is None or movement.seeds < 1:
        raise BadInput("A packet holds one seed or more.", field="seeds")
    if movement.holder is None and movement.place is None:
        raise BadInput("A packet made in the bank needs a place.", field="place")
    state = "in_store" if movement.holder is None else "with_member"
    return State(state, movement.place, movement.holder, movement.seeds, 1)


def _why_not(now: State, kind: str) -> str:
    if kind == "made":
        return "A packet is made once."
    on_step = f" (step {now.step})" if now.state in GONE else ""
    return f"This packet {_IS[now.state]}{on_step}: {_CANNOT[kind]}."


def _place(now: State, movement: Step, state: str) -> int | None:
    if state in GONE or movement.kind == "sent":
        return None
    is_members = state in {"with_member", "sent"}
    if movement.kind in {"received", "moved"} and not is_members and movement.place is None:
        raise BadInput("Say where in the store the packet is put.", field="place")
    if movement.kind == "moved":
        return movement.place
    place = movement.place if movement.place is not None else now.place
    if state == "in_store" and place is None:
        raise BadInput("Say where in the store the packet is put.", field="place")
    return place


def _holder(now: State, movement: Step, state: str) -> int | None:
    if movement.kind == "sent" and movement.holder is None:
        raise BadInput("Say to whom the packet is sent.", field="holder")
    if movement.kind == "sent":
        return movement.holder
    return None if state == "in_store" else now.holder


def _seeds_left(now: State, movement: Step, state: str) -> int:
    if movement.kind == "part_sown":
        if movement.seeds is None or movement.seeds < 1:
            raise BadInput("Say how many seeds were taken out.", field="seeds")
        if movement.seeds == now.seeds_left:
            raise BadInput("That is all the seed in the packet: it is sown whole.", field="seeds")
    if movement.seeds is not None and movement.seeds > now.seeds_left:
        raise BadInput(
            f"The packet holds {now.seeds_left} seeds, not {movement.seeds}.", field="seeds"
        )
    if state in GONE:
        return 0
    return (
        now.seeds_left - (movement.seeds or 0) if movement.kind == "part_sown" else now.seeds_left
    )
