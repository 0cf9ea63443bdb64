"""The policy `turns`: members take turns, one packet a turn, in an order reversed every pass.

Donors choose before the others in each pass. A line with enough for all who asked costs no turn,
so nobody gains by ranking it low. Reserves are read after everybody's main wishes. The outcome
is Pareto efficient, and within a tier nobody falls more than one packet behind another (for
equal allowances and main wishes, see `measures`). It is not strategy-proof; no rule with these
properties is, short of letting one member after the other take a whole parcel.

The rule after which this is written: picking in alternating order, as studied by Budish and
Cantillon, American Economic Review 102(5), 2012, with the simple manipulation they describe
(ranking popular lines higher than one likes them) taken away by the plentiful lines.
"""

from crosses.calc.errors import BadInput
from seedbank.calc.allocation.desk import LIST_ENDS, Desk
from seedbank.calc.allocation.model import MAIN, RESERVE, Inputs, Pass, Result
from seedbank.calc.allocation.workings import Reading, prepare

ENGINE = "turns 1"


def share_by_turns(inputs: Inputs) -> Result:
    """Share out the packets by turns.

    Parameters
    ----------
    inputs : Inputs
        The frozen inputs; they are not changed.

    Returns
    -------
    Result
        Packets in the order they were taken.

    Raises
    ------
    BadInput
        If the inputs contradict themselves or `head_start` is below 0.
    """
    head_start = inputs.options.head_start
    if head_start != "strict" and head_start < 0:
        raise BadInput("A head start is a number of passes, 0 or more.", field="head_start")
    work = prepare(inputs)
    desk = Desk(work)
    passes = desk.make_good_all()
    nothing_free = [False] * len(work.lines)
    free = work.plentiful if inputs.options.plentiful_free else nothing_free
    last_main = _take_phase(desk, MAIN, work.main, free, passes)
    last_reserve = _take_phase(desk, RESERVE, work.reserve, nothing_free, passes)
    last_turns = {
        member.number: (last_main[place], last_reserve[place])
        for place, member in enumerate(work.members)
    }
    return desk.result("turns", ENGINE, passes, last_turns)


def _take_phase(
    desk: Desk, phase: str, readings: list[Reading], free: list[bool], passes: list[Pass]
) -> list[int]:
    """Let everybody read one phase to its end; return each member's last turn in it."""
    members = desk.work.members
    head_start = desk.work.inputs.options.head_start
    queues: dict[int, list[int]] = {}
    for member in desk.work.turn_order:
        if readings[member].lines:
            queues.setdefault(members[member].tier, []).append(member)
    own_passes = dict.fromkeys(queues, 0)
    unread = [desk.unread(member, reading) for member, reading in enumerate(readings)]
    ends = [reading.positions[-1] if reading.lines else LIST_ENDS for reading in readings]
    last_turns = [0] * len(members)
    number = 0
    while any(queues.values()):
        number += 1
        passes.append(Pass(phase, number, desk.turn + 1))
        for tier, queue in queues.items():
            if _must_wait(tier, number, phase, head_start, queues):
                continue
            own_passes[tier] += 1
            done = set()
            for member in reversed(queue) if own_passes[tier] % 2 == 0 else queue:
                desk.turn += 1
                last_turns[member] = desk.turn
                last_read = desk.read_on(member, phase, unread[member], free)
                if last_read == LIST_ENDS or last_read == ends[member]:
                    done.add(member)
            queues[tier] = [member for member in queue if member not in done]
    return last_turns


def _must_wait(
    tier: int, number: int, phase: str, head_start: int | str, queues: dict[int, list[int]]
) -> bool:
    """Say whether a tier above the donors sits out pass `number`."""
    if tier == 0:
        return False
    if head_start == "strict":
        return any(queue for lower, queue in queues.items() if lower < tier)
    return phase == MAIN and number <= int(head_start)
