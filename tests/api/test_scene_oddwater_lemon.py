"""Wilhelmina asks for every sowing with 'Oddwater Lemon' as pollen parent: rates, seeds, ranges, nobody's name.

Three treatments of one lot, with the numbers of the scene: outdoors 78 of 120, fridge 66 of 110,
windowsill 29 of 140. The ranges in percent are those written with the scene (56-73, 51-69, 15-28).
"""

import json

import pytest

from seedbank.sowings.models import Pretreatment
from tests.api.conftest import lot_of_cross
from tests.factories.crosses import make_plant
from tests.factories.sowings import counted_sowing

pytestmark = pytest.mark.django_db

ASKED = {"pollen_parent": "Oddwater Lemon"}


@pytest.fixture
def society(tansy, cosmo, lemon_lot):
    """The three sowings, and one the other way round that must not be among them."""
    counted_sowing(tansy, 78, 120, lot=lemon_lot, temperature_low_celsius=10)
    fridge = [Pretreatment(kind="cold", days=28, temperature_celsius=4)]
    counted_sowing(tansy, 66, 110, lot=lemon_lot, pretreatments=fridge)
    counted_sowing(tansy, 29, 140, lot=lemon_lot, temperature_low_celsius=24)
    other_way = lot_of_cross(
        cosmo,
        seed_parent=make_plant(cosmo, "Primula 'Oddwater Lemon'"),
        pollen_parent=make_plant(cosmo, "Primula 'Quillfeather Smoke'"),
    )
    counted_sowing(cosmo, 11, 30, lot=other_way)


@pytest.fixture
def ask(wilhelmina, with_key, society):
    script = with_key(wilhelmina)
    return lambda path, **more: script.get(f"/api/v1/{path}", ASKED | more).json()


def test_each_sowing_comes_with_its_rate_its_seeds_and_its_range(ask):
    rows = ask("germination/")["results"]
    assert [row["share"]["how"].split(",")[0] for row in rows] == [
        "78 of 120 = 65 % (56-73 %)",
        "66 of 110 = 60 % (51-69 %)",
        "29 of 140 = 21 % (15-28 %)",
    ]
    assert all(row["pollen_parents"][0]["name"] == "Primula 'Oddwater Lemon'" for row in rows)


def test_treatments_are_told_apart(ask):
    groups = ask("germination/summary/", group_by="treatment")["results"]
    told = {group["keys"]["treatment"]: (group["germinated"], group["seeds"]) for group in groups}
    assert told == {"none": (107, 260), "cold": (66, 110)}


def test_all_of_it_together_says_how_much_sowings_differ(ask):
    (group,) = ask("germination/summary/", group_by="pollen_parent")["results"]
    assert (group["germinated"], group["seeds"], group["sowings"]) == (173, 370, 3)
    assert group["next_sowing_low"] < group["mean_low"] < group["mean"] < group["mean_high"]
    assert "differ more than by chance" in group["basis"]


def test_nobody_is_named(ask, tansy):
    written = json.dumps([ask("germination/"), ask("germination/summary/", group_by="grower")])
    assert "Q001" in written
    for name in ("Tansy", "Cosmo", "Dribblethwaite", tansy.email):
        assert name not in written
