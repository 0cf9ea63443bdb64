import pytest

from tests.conftest import NOON
from tests.factories.exchange import AFTER, listed_round, stored_lot, wish
from tests.factories.members import MemberFactory


@pytest.fixture
def at_noon(time_machine):
    """Let pages read the clock at NOON, when the list is open."""
    time_machine.move_to(NOON, tick=False)


@pytest.fixture
def after_closing(time_machine):
    """Let pages read the clock a day after wishes have closed."""
    time_machine.move_to(AFTER, tick=False)


@pytest.fixture
def found(ignatius):
    """Three lines: a with one packet, b and c with two."""
    lots = [stored_lot("Primula a", 1), stored_lot("Primula b"), stored_lot("Primula c")]
    return listed_round(ignatius, *lots, allowance=2)


@pytest.fixture
def three(found):
    """Three members who all want line 1 most."""
    members = MemberFactory.create_batch(3)
    for member in members:
        wish(found, member, 1, 2, reserve=(3,))
    return members
