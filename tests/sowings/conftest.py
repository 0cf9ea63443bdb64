import pytest

from tests.conftest import NOON


@pytest.fixture(autouse=True)
def at_noon(time_machine):
    """Let pages read the clock at NOON, as acts are told."""
    time_machine.move_to(NOON, tick=False)
