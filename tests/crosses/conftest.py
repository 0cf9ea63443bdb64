import pytest

from crosses.models import Plant
from tests.factories.crosses import make_plant


@pytest.fixture
def smoke(tansy):
    return make_plant(tansy, "Primula 'Quillfeather Smoke'", style_form=Plant.StyleForm.THRUM)


@pytest.fixture
def lemon(tansy):
    return make_plant(tansy, "Primula 'Oddwater Lemon'", style_form=Plant.StyleForm.PIN)
