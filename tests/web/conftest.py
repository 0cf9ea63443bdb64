import pytest

from tests.conftest import NOON
from tests.factories.exchange import AFTER


@pytest.fixture
def at_noon(time_machine):
    """Let pages read the clock at NOON, when the list of a round is open."""
    time_machine.move_to(NOON, tick=False)


@pytest.fixture
def after_closing(time_machine):
    """Let pages read the clock a day after wishes have closed."""
    time_machine.move_to(AFTER, tick=False)
