"""Germination by day, by age of seed and by ancestor; and that nothing private shows in any of it."""

import csv
import datetime
import io
import json
from typing import Any

import pytest

from crosses.base.visibility import Visibility
from tests.api.conftest import lot_of_cross
from tests.factories.bank import LotFactory
from tests.factories.crosses import make_plant
from tests.factories.sowings import SOWN_ON, count_pot, counted_sowing, make_sowing, pot_of

pytestmark = pytest.mark.django_db

ROOT = "/api/v1/germination/"


@pytest.fixture
def ask(wilhelmina, with_key):
    script = with_key(wilhelmina)

    def asked(address: str = "", expect: int = 200, **filters: Any) -> Any:
        answer = script.get(ROOT + address, filters)
        assert answer.status_code == expect, answer.content
        return answer.json()

    return asked


def sowing_of(grower, seeds: int, looks: list[tuple[int, int]], **facts: Any):
    sowing = make_sowing(grower, seeds_sown=seeds, **facts)
    for day, number in looks:
        count_pot(pot_of(sowing), day, number)
    return sowing


def test_the_course_of_one_sowing_is_its_running_share(ask, tansy):
    sowing_of(tansy, 20, [(7, 5), (14, 9)])
    told = ask("courses/")
    (group,) = told["results"]
    assert (told["group_by"], group["keys"]) == ([], {})
    assert [(step["day"], step["share"]) for step in group["course"]] == [
        (7, pytest.approx(0.25)),
        (14, pytest.approx(0.7)),
    ]
    assert (group["seeds"], group["sowings"]) == (20, 1)
    assert group["course"][0]["share_low"] < 0.25 < group["course"][0]["share_high"]


def test_half_of_what_came_had_come_between_two_looks(ask, tansy):
    sowing_of(tansy, 20, [(7, 2), (14, 6), (21, 2)])
    (group,) = ask("summary/", group_by="genus")["results"]
    assert (group["median_time_after_days"], group["median_time_by_days"]) == (7, 14)
    assert "between day 7 and day 14" in group["how_times"]


def test_where_nothing_came_there_is_no_time(ask, tansy):
    counted_sowing(tansy, 0, 20)
    (group,) = ask("summary/", group_by="genus")["results"]
    assert group["median_time_by_days"] is None
    assert ask("courses/")["results"][0]["course"] == []


def test_sowings_that_differ_make_the_course_less_certain(ask, tansy):
    for came in (1, 19, 2, 18):
        counted_sowing(tansy, came, 20)
    (group,) = ask("courses/")["results"]
    assert group["design_effect"] > 2
    (step,) = group["course"]
    # As though each seed were a draw of its own, the score interval of 40 of 80 is 0.39 to 0.61.
    assert step["share_low"] < 0.39
    assert step["share_high"] > 0.61


def test_a_course_comes_as_a_table_with_what_stands_behind_it(wilhelmina, with_key, tansy):
    sowing_of(tansy, 20, [(7, 5), (14, 9)])
    answer = with_key(wilhelmina).get(f"{ROOT}courses.csv", {"group_by": "seed_age"})
    rows = list(csv.DictReader(io.StringIO(b"".join(answer.streaming_content).decode())))
    assert [(row["day"], row["share"], row["seeds"]) for row in rows] == [
        ("7.0", "0.25", "20"),
        ("14.0", "0.7", "20"),
    ]
    assert all(row["seed_age"] for row in rows)


def lot_of(year: int, day: datetime.date | None = None, **facts: Any):
    return LotFactory(year=year, collected_on=day, **facts)


@pytest.fixture
def old_and_young(tansy):
    """Sown on one day: seed of 300 days, seed of 1,000 days, and seed of two years before."""
    days = {name: SOWN_ON - datetime.timedelta(days=days) for name, days in AGES.items()}
    sown = {
        name: counted_sowing(tansy, 5, 20, lot=lot_of(day.year, day, raised_by=tansy))
        for name, day in days.items()
    }
    only_year = lot_of(SOWN_ON.year - 2, raised_by=tansy)
    return sown | {"only year": counted_sowing(tansy, 5, 20, lot=only_year)}


AGES = {"young": 300, "old": 1000}


@pytest.mark.parametrize(
    ("filters", "found"),
    [
        ({"seed_age_max_days": 300}, {"young"}),
        ({"seed_age_max_days": 299}, set()),
        ({"seed_age_min_days": 1000}, {"old"}),
        ({"seed_age_min_days": 1001}, set()),
        # Of the year before last: between a year and a bit, and two years and a bit.
        ({"seed_age_min_days": 365}, {"old", "only year"}),
        ({"seed_age_min_days": 600}, {"old"}),
        ({"seed_age_max_days": 900}, {"young", "only year"}),
        ({"seed_age_max_days": 600}, {"young"}),
        ({"seed_age_min_days": 0}, {"young", "old", "only year"}),
        ({"seed_age_min_days": 301, "seed_age_max_days": 1000}, {"old", "only year"}),
    ],
)
def test_history_is_narrowed_by_the_age_of_seed(ask, old_and_young, filters, found):
    told = {row["sowing"] for row in ask(**filters)["results"]}
    assert told == {old_and_young[name].number for name in found}


def test_history_is_grouped_by_the_age_of_seed(ask, old_and_young):
    keys = {group["keys"]["seed_age"] for group in ask("summary/", group_by="seed_age")["results"]}
    assert keys == {"under 1 year", "1 to under 2 years", "2 to under 3 years"}


@pytest.fixture
def three_generations(tansy):
    """Seed of a granddaughter of 'Old Lace', through a daughter."""
    founder = make_plant(tansy, "Primula 'Old Lace'")
    first = lot_of_cross(tansy, seed_parent=founder).harvest.cross
    daughter = make_plant(tansy, "Primula 'Lace Two'", raised_from=first, origin="cross")
    lot = lot_of_cross(tansy, pollen_parent=daughter)
    counted_sowing(tansy, 5, 20, lot=lot)
    counted_sowing(tansy, 6, 20)
    return founder, first, lot


@pytest.mark.parametrize("how", ["by number", "by name"])
def test_seed_is_found_by_a_plant_far_above_it(ask, three_generations, how):
    founder, _first, lot = three_generations
    wanted = founder.number if how == "by number" else "old lace"
    assert [row["lot"] for row in ask(ancestor=wanted)["results"]] == [lot.number]


def test_a_link_kept_private_is_not_told_by_an_ancestor(ask, tansy, with_key, three_generations):
    founder, first, lot = three_generations
    first.visibility = Visibility.ME
    first.save()
    assert ask(ancestor=founder.number)["results"] == []
    own = with_key(tansy).get(ROOT, {"ancestor": founder.number}).json()["results"]
    assert [row["lot"] for row in own] == [lot.number]


def test_the_season_of_a_private_cross_is_not_told(ask, tansy):
    lot = lot_of_cross(tansy, visibility=Visibility.ME)
    lot.visibility = Visibility.SOCIETY
    lot.save()
    counted_sowing(tansy, 5, 20, lot=lot)
    assert ask(season=2025)["results"] == []
    (group,) = ask("summary/", group_by="season")["results"]
    assert group["keys"] == {"season": None}


def test_seed_is_found_by_its_cultivar_group(ask, tansy):
    lot = LotFactory(name_text="Primula Hollowbeck Group", raised_by=tansy)
    counted_sowing(tansy, 5, 20, lot=lot)
    counted_sowing(tansy, 5, 20)
    for words in ("Hollowbeck", "hollowbeck group"):
        assert [row["lot"] for row in ask(group=words)["results"]] == [lot.number]


QUESTIONS = [
    "germination/",
    "germination/summary/?group_by=genus",
    "germination/summary/?group_by=seed_parent,season",
    "germination/summary/?group_by=treatment,grower",
    "germination/summary/?group_by=lot&ancestor=Smoke",
    "germination/courses/",
    "germination/courses/?group_by=pollen_parent",
    "lots/",
    "crosses/",
    "plants/",
    "packets/",
]


def test_what_is_private_changes_no_answer_to_anybody_else(
    wilhelmina, ignatius, tansy, with_key, lemon_sowing
):
    """Then nothing can be inferred of it, by one question or by the difference of several."""
    scripts = [with_key(wilhelmina), with_key(ignatius)]

    def all_answers() -> list[Any]:
        found = [script.get(f"/api/v1/{asked}").json() for script in scripts for asked in QUESTIONS]
        return json.loads(json.dumps(found))

    before = all_answers()
    lemon = lemon_sowing.packet.lot
    counted_sowing(tansy, 0, 100, lot=lemon, visibility=Visibility.ME)
    hidden_plant = make_plant(tansy, "Primula 'Secret Smoke'", visibility=Visibility.ME)
    hidden_lot = lot_of_cross(
        tansy,
        seed_parent=hidden_plant,
        pollen_parent=lemon.harvest.cross.pollen_parent,
        visibility=Visibility.ME,
    )
    counted_sowing(tansy, 60, 100, lot=hidden_lot)
    after = all_answers()
    # The packet from which she sowed is the society's to see, and what is left in it.
    for answers in (before, after):
        for place, asked in enumerate(QUESTIONS * len(scripts)):
            if asked in {"packets/", "lots/"}:
                answers[place] = None
    assert before == after
