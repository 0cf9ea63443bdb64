"""Rates of groups: how they are formed, what stands behind them, and who counts in them."""

from typing import Any

import pytest

from crosses.models import Cross
from seedbank.sowings.actions.sowing import close_sowing
from seedbank.sowings.models import Pretreatment
from tests.api.conftest import lot_of_cross
from tests.conftest import NOON, TODAY
from tests.factories.bank import LotFactory
from tests.factories.crosses import TaxonFactory, make_plant
from tests.factories.sowings import counted_sowing, make_sowing

pytestmark = pytest.mark.django_db

ADDRESS = "/api/v1/germination/summary/"


@pytest.fixture
def ask(wilhelmina, with_key):
    script = with_key(wilhelmina)

    def asked(group_by: str, expect: int = 200, **filters: Any) -> Any:
        answer = script.get(ADDRESS, {"group_by": group_by, **filters})
        assert answer.status_code == expect, answer.content
        return answer.json()

    return asked


def test_a_group_adds_up_its_sowings_and_says_what_stands_behind_it(ask, tansy, cosmo):
    for grower, came, sown in [(tansy, 78, 120), (tansy, 66, 110), (cosmo, 71, 100)]:
        counted_sowing(grower, came, sown)
    (group,) = ask("genus")["results"]
    assert group["keys"] == {"genus": "Primula"}
    assert (group["germinated"], group["seeds"]) == (215, 330)
    assert (group["sowings"], group["open_sowings"], group["growers"]) == (3, 3, 2)
    assert group["mean_low"] < 215 / 330 < group["mean_high"]
    assert "215 of 330 seeds in 3 sowings" in group["how"]


def test_the_next_sowing_is_less_certain_than_the_mean(ask, tansy):
    for came in (2, 14, 9, 18):
        counted_sowing(tansy, came, 20)
    (group,) = ask("genus")["results"]
    assert group["next_sowing_low"] < group["mean_low"]
    assert group["next_sowing_high"] > group["mean_high"]
    assert "differ more than by chance" in group["basis"]


def test_what_one_may_not_see_does_not_count(ask, tansy, with_key, lemon_sowing, private_sowing):
    (group,) = ask("genus")["results"]
    assert (group["germinated"], group["seeds"]) == (78, 120)
    own = with_key(tansy).get(ADDRESS, {"group_by": "genus"}).json()["results"][0]
    assert (own["germinated"], own["seeds"]) == (78, 220)


def test_a_sowing_nobody_has_looked_at_is_in_no_group_but_is_told(ask, tansy, lemon_sowing):
    make_sowing(tansy)
    told = ask("genus")
    assert told["sowings_not_looked_at"] == 1
    assert told["results"][0]["sowings"] == 1


def test_closed_sowings_are_not_among_the_open_ones(ask, tansy):
    done = counted_sowing(tansy, 5, 20)
    counted_sowing(tansy, 6, 20)
    close_sowing(sowing=done, by=tansy, at=NOON, closed_on=TODAY)
    (group,) = ask("genus")["results"]
    assert (group["sowings"], group["open_sowings"]) == (2, 1)


@pytest.fixture
def variety(tansy, cosmo, lemon_sowing):
    cosmo.donor_code = "Q002"
    cosmo.save()
    counted_sowing(
        cosmo,
        15,
        40,
        lot=LotFactory(raised_by=cosmo, name_text="Primula veris", taxon=TaxonFactory(), year=2023),
        pretreatments=[
            Pretreatment(kind="cold", days=28),
            Pretreatment(kind="gibberellic_acid", concentration_ppm=500),
        ],
        temperature_low_celsius=10,
        temperature_high_celsius=15,
    )


@pytest.mark.parametrize(
    ("group_by", "keys"),
    [
        ("taxon", {(None,), ("Primula veris",)}),
        ("pollen_parent", {("Primula 'Oddwater Lemon'",), (None,)}),
        ("seed_parent", {("Primula 'Quillfeather Smoke'",), (None,)}),
        ("formula", {("Primula 'Quillfeather Smoke' × P. 'Oddwater Lemon'",), (None,)}),
        ("harvest_year", {(2025,), (2023,)}),
        ("sown_year", {(2026,)}),
        ("treatment", {("none",), ("cold then gibberellic_acid",)}),
        ("temperature", {(None,), ("10 to under 15 °C",)}),
        ("grower", {("Q001",), ("Q002",)}),
        ("genus,grower", {("Primula", "Q001"), ("Primula", "Q002")}),
    ],
)
def test_sowings_are_grouped_by_one_or_two_things(ask, variety, group_by, keys):
    results = ask(group_by)["results"]
    assert {tuple(group["keys"].values()) for group in results} == keys
    assert sum(group["seeds"] for group in results) == 160


def test_of_a_mixture_the_plants_are_named_together_and_of_open_pollen_just_that(ask, tansy):
    lemon = make_plant(tansy, "Primula 'Oddwater Lemon'")
    rust = make_plant(tansy, "Primula 'Fiddlewick Rust'")
    mixed = lot_of_cross(tansy, pollen=Cross.Pollen.MIXED, mixture=[(lemon, 1), (rust, 2)])
    for lot in (mixed, lot_of_cross(tansy, pollen=Cross.Pollen.OPEN)):
        counted_sowing(tansy, 5, 20, lot=lot)
    keys = {group["keys"]["pollen_parent"] for group in ask("pollen_parent")["results"]}
    assert keys == {"Primula 'Oddwater Lemon' + Primula 'Fiddlewick Rust'", "open pollinated"}


def test_the_same_filters_narrow_the_groups(ask, variety):
    (group,) = ask("taxon", treatment="cold")["results"]
    assert (group["keys"]["taxon"], group["seeds"]) == ("Primula veris", 40)


def test_a_sowing_with_two_steps_is_counted_once(ask, variety):
    assert sum(group["sowings"] for group in ask("genus")["results"]) == 2


@pytest.mark.parametrize(
    ("group_by", "words"),
    [("cat", "Nothing is grouped by 'cat'"), ("", "one or two"), ("lot,taxon,genus", "one or two")],
)
def test_what_nobody_groups_by_is_refused(ask, group_by, words):
    assert words in ask(group_by, expect=400)["errors"]["group_by"][0]


def test_an_unknown_filter_is_refused_here_too(ask):
    assert "treatmnt" in ask("taxon", expect=400, treatmnt="cold")["errors"]


def test_groups_come_in_pages_most_seed_first(ask, tansy):
    for seeds in (10, 30, 20):
        counted_sowing(tansy, 5, seeds)
    first = ask("lot", limit=2)
    assert first["groups"] == 3
    assert [group["seeds"] for group in first["results"]] == [30, 20]
    assert first["next"]
    assert [group["seeds"] for group in ask("lot", limit=2, offset=2)["results"]] == [10]


def test_more_sowings_cost_no_more_queries(
    wilhelmina, with_key, tansy, lemon_lot, django_assert_max_num_queries
):
    script = with_key(wilhelmina)
    script.get("/api/v1/me/")
    for _ in range(2):
        for _ in range(3):
            counted_sowing(tansy, 5, 10, lot=lemon_lot)
            counted_sowing(tansy, 5, 10)
        with django_assert_max_num_queries(14):
            script.get(ADDRESS, {"group_by": "pollen_parent,treatment"})
