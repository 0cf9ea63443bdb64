"""The one door to the three policies."""

from crosses.calc.errors import BadInput
from seedbank.calc.allocation.even import share_evenly
from seedbank.calc.allocation.model import Inputs, Result
from seedbank.calc.allocation.straight import share_straight
from seedbank.calc.allocation.turns import share_by_turns

_ENGINES = {"turns": share_by_turns, "straight": share_straight, "even": share_evenly}


def share(inputs: Inputs) -> Result:
    """Share out the packets by the policy the inputs name.

    Raises
    ------
    BadInput
        If there is no such policy, or the inputs contradict themselves.

    Examples
    --------
    >>> from seedbank.calc.allocation.model import Line, Member
    >>> inputs = Inputs(
    ...     event="Seed list 2027",
    ...     policy="turns",
    ...     members=(
    ...         Member("7", tier=1, allowance=2, main=("1", "2")),
    ...         Member("9", tier=1, allowance=2, main=("1", "2")),
    ...     ),
    ...     lines=(Line("1", stock=1), Line("2", stock=1)),
    ...     order=("9", "7"),
    ... )
    >>> [(packet.member, packet.line, packet.turn) for packet in share(inputs).packets]
    [('9', '1', 1), ('7', '2', 2)]
    """
    engine = _ENGINES.get(inputs.policy)
    if engine is None:
        raise BadInput(f"There is no policy called {inputs.policy}.", field="policy")
    return engine(inputs)
