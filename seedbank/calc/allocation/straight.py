"""The policy `straight`: one member after the other takes a whole list, donors first.

This is what is done by hand. Nobody can gain by misstating a list, and the outcome is Pareto
efficient; but whoever is drawn late finds little, so it is offered beside `turns` to compare.
"""

from seedbank.calc.allocation.desk import Desk
from seedbank.calc.allocation.model import MAIN, RESERVE, Inputs, Pass, Result
from seedbank.calc.allocation.workings import prepare

ENGINE = "straight 1"


def share_straight(inputs: Inputs) -> Result:
    """Share out the packets member by member; a member's one turn is her place in the draw.

    Members who are owed a packet come first and get that one packet, as in `turns`.

    Parameters
    ----------
    inputs : Inputs
        The frozen inputs; they are not changed. An order of receipt may stand in place of the
        draw; it makes a race of it, and the page that shows it says so.

    Raises
    ------
    BadInput
        If the inputs contradict themselves.
    """
    work = prepare(inputs)
    desk = Desk(work)
    passes = desk.make_good_all()
    passes.append(Pass(MAIN, 1, desk.turn + 1))
    never_ends = [True] * len(work.lines)
    last_turns = {}
    for member in work.turn_order:
        desk.turn += 1
        desk.read_on(member, MAIN, desk.unread(member, work.main[member]), never_ends)
        desk.read_on(member, RESERVE, desk.unread(member, work.reserve[member]), never_ends)
        last_turns[work.members[member].number] = (desk.turn, desk.turn)
    return desk.result("straight", ENGINE, passes, last_turns)
