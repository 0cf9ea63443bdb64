"""Germination history: what is in it, who sees which of it, and how it is asked for."""

import csv
import io
import json
from typing import Any

import pytest
from django.urls import reverse
from scipy.stats import binomtest

from crosses.base.visibility import Visibility
from crosses.models import Cross
from seedbank.sowings.actions.count import withdraw_count
from seedbank.sowings.actions.sowing import close_sowing, withdraw_sowing
from seedbank.sowings.models import Count, Pretreatment
from tests.api.conftest import lot_of_cross
from tests.conftest import NOON, TODAY
from tests.factories.bank import LotFactory, packets_of
from tests.factories.crosses import TaxonFactory, make_plant
from tests.factories.sowings import count_pot, counted_sowing, make_sowing, pot_of

pytestmark = pytest.mark.django_db

ADDRESS = "/api/v1/germination/"


@pytest.fixture
def ask(wilhelmina, with_key):
    """Return a function that asks as a member who reads by script."""
    script = with_key(wilhelmina)

    def asked(expect: int = 200, **filters: Any) -> Any:
        answer = script.get(ADDRESS, filters)
        assert answer.status_code == expect, answer.content
        return answer.json()

    return asked


def numbers(page: Any) -> set[str]:
    return {row["sowing"] for row in page["results"]}


def test_a_rate_stands_with_its_seeds_and_its_interval(ask, lemon_sowing):
    (row,) = ask()["results"]
    assert (row["germinated"], row["seeds"]) == (78, 120)
    wilson = binomtest(78, 120).proportion_ci(method="wilson")
    assert (row["share"]["low"], row["share"]["high"]) == pytest.approx((wilson.low, wilson.high))
    assert row["share"]["how"].startswith("78 of 120 = 65 % (56-73 %)")
    assert "not failed" in row["how"]["share"]


def test_the_parents_are_told_seed_parent_first(ask, lemon_sowing):
    (row,) = ask()["results"]
    assert row["seed_parent"]["name"] == "Primula 'Quillfeather Smoke'"
    assert [plant["name"] for plant in row["pollen_parents"]] == ["Primula 'Oddwater Lemon'"]
    assert row["formula"].index("Smoke") < row["formula"].index("Lemon")


def test_a_sowing_nobody_has_looked_at_is_unknown_and_not_nought(ask, tansy):
    make_sowing(tansy)
    (row,) = ask()["results"]
    assert row["germinated"] is None
    assert row["share"] is None
    assert row["mean_germination_time_days"] is None
    assert "not 0 %" in row["how"]["share"]


def test_a_look_that_found_nothing_is_nought(ask, tansy):
    counted_sowing(tansy, 0, 50)
    (row,) = ask()["results"]
    assert row["germinated"] == 0
    assert row["share"]["estimate"] == 0
    assert row["share"]["high"] > 0.05
    assert row["mean_germination_time_days"] is None


def test_pots_are_added_up_day_by_day(ask, tansy):
    sowing = make_sowing(tansy, seeds_sown=60, replicate_seeds=[30, 30])
    for pot, day, number in [(1, 7, 2), (2, 7, 3), (1, 14, 4)]:
        count_pot(pot_of(sowing, pot), day, number)
    (row,) = ask()["results"]
    assert [(look["day"], look["newly_seen"], look["total"]) for look in row["looks"]] == [
        (7, 5, 5),
        (14, 4, 9),
    ]
    # 5 seedlings on day 7 and 4 on day 14: (35 + 56) / 9.
    assert row["mean_germination_time_days"] == pytest.approx(91 / 9)
    assert row["mean_germination_time_lower_days"] == pytest.approx(28 / 9)


def test_a_withdrawn_count_and_a_withdrawn_sowing_do_not_count(ask, tansy):
    sowing = counted_sowing(tansy, 30, 60)
    count_pot(pot_of(sowing), 20, 5)
    wrong = Count.objects.get(newly_seen=5)
    withdraw_count(count=wrong, by=tansy, at=NOON, reason="the pot beside it")
    gone = counted_sowing(tansy, 9, 60)
    withdraw_sowing(sowing=gone, by=tansy, at=NOON, reason="labels mixed up")
    (row,) = ask()["results"]
    assert row["germinated"] == 30


def test_the_age_of_seed_lies_between_two_days_where_only_its_year_is_known(ask, tansy):
    counted_sowing(tansy, 5, 20, lot=LotFactory(raised_by=tansy, year=2025))
    (row,) = ask()["results"]
    assert row["seed_age_days_high"] - row["seed_age_days_low"] == 364
    assert "some day of 2025" in row["how"]["seed_age"]


def test_the_age_of_seed_is_one_number_where_its_day_is_known(ask, lemon_sowing):
    (row,) = ask()["results"]
    days = (lemon_sowing.sown_on - lemon_sowing.packet.lot.collected_on).days
    assert row["seed_age_days_low"] == row["seed_age_days_high"] == days


def test_anothers_private_sowing_is_not_told(ask, lemon_sowing, private_sowing):
    assert numbers(ask()) == {lemon_sowing.number}


def test_ones_own_private_sowing_is_told(tansy, with_key, lemon_sowing, private_sowing):
    page = with_key(tansy).get(ADDRESS).json()
    assert numbers(page) == {lemon_sowing.number, private_sowing.number}


def test_a_keeper_sees_no_private_sowing(ignatius, with_key, private_sowing):
    assert with_key(ignatius).get(ADDRESS).json()["results"] == []


def test_a_sowing_of_seed_kept_private_does_not_tell_of_that_seed(ask, tansy):
    lot = LotFactory(raised_by=tansy, visibility=Visibility.ME)
    counted_sowing(tansy, 9, 20, lot=lot)
    assert ask()["results"] == []


def test_the_number_of_a_private_cross_is_not_told_nor_found(ask, tansy):
    lot = lot_of_cross(tansy, visibility=Visibility.ME)
    lot.visibility = Visibility.SOCIETY
    lot.save()
    counted_sowing(tansy, 9, 20, lot=lot)
    (row,) = ask()["results"]
    assert row["cross"] is None
    assert row["formula"]
    assert ask(cross=lot.harvest.cross.number)["results"] == []


def test_no_person_is_in_an_answer(ask, tansy, lemon_sowing):
    lemon_sowing.where = "on Tansy's north sill"
    lemon_sowing.note = "with thanks to Cosmo"
    lemon_sowing.save()
    written = json.dumps(ask())
    assert tansy.donor_code in written
    for secret in (tansy.name, "Tansy", "Cosmo", tansy.email):
        assert secret not in written


@pytest.fixture
def variety(tansy, cosmo, lemon_sowing):
    """Three more sowings: selfed seed treated cold, named seed closed, and a mixture."""
    cosmo.donor_code = "Q002"
    cosmo.save()
    lemon = make_plant(tansy, "Primula 'Oddwater Lemon'")
    selfed = counted_sowing(
        tansy,
        3,
        30,
        lot=lot_of_cross(tansy, seed_parent=lemon, pollen=Cross.Pollen.SELF),
        pretreatments=[
            Pretreatment(kind="cold", days=28, temperature_celsius=4),
            Pretreatment(kind="gibberellic_acid", concentration_ppm=500),
        ],
        temperature_low_celsius=16,
    )
    named = counted_sowing(
        cosmo,
        15,
        40,
        lot=LotFactory(raised_by=cosmo, name_text="Primula veris", taxon=TaxonFactory(), year=2023),
        temperature_low_celsius=5,
        temperature_high_celsius=12,
    )
    close_sowing(sowing=named, by=cosmo, at=NOON, closed_on=TODAY)
    mixed = counted_sowing(
        tansy,
        1,
        10,
        lot=lot_of_cross(
            tansy,
            pollen=Cross.Pollen.MIXED,
            mixture=[(lemon, 1), (make_plant(tansy, "Primula 'Fiddlewick Rust'"), 2)],
        ),
    )
    return {"lemon": lemon_sowing, "selfed": selfed, "named": named, "mixed": mixed}


@pytest.mark.parametrize(
    ("filters", "found"),
    [
        ({"pollen_parent": "oddwater lemon"}, {"lemon", "selfed", "mixed"}),
        ({"seed_parent": "Oddwater Lemon"}, {"selfed"}),
        ({"parent": "Quillfeather"}, {"lemon", "mixed"}),
        ({"pollen_parent": "Rust"}, {"mixed"}),
        ({"pollen_parent": "Lemon", "pollen": "plant"}, {"lemon"}),
        ({"taxon": "Primula veris"}, {"named"}),
        ({"taxon": "veris"}, {"named"}),
        ({"taxon": "Primula vulgaris"}, set()),
        ({"genus": "primula"}, {"lemon", "selfed", "named", "mixed"}),
        ({"genus": "Prim"}, set()),
        ({"grower": "q002"}, {"named"}),
        ({"grower": "me"}, set()),
        ({"harvest_year": 2023}, {"named"}),
        ({"sown_year": 2026}, {"lemon", "selfed", "named", "mixed"}),
        ({"sown_from": "2026-05-01"}, set()),
        ({"treatment": "cold"}, {"selfed"}),
        ({"treatment": "none"}, {"lemon", "named", "mixed"}),
        ({"temperature_min_celsius": 10}, {"selfed"}),
        ({"temperature_max_celsius": 12}, {"named"}),
        ({"temperature_max_celsius": 16}, {"named", "selfed"}),
        ({"is_open": "false"}, {"named"}),
        ({"is_open": "true"}, {"lemon", "selfed", "mixed"}),
        ({"is_looked_at": "false"}, set()),
    ],
)
def test_history_is_narrowed(ask, variety, filters, found):
    assert numbers(ask(**filters)) == {variety[name].number for name in found}


def test_a_parent_a_cross_and_a_lot_are_found_by_number_however_typed(ask, lemon_sowing):
    cross = lemon_sowing.packet.lot.harvest.cross
    for filters in (
        {"pollen_parent": cross.pollen_parent.number.lower()},
        {"seed_parent": cross.seed_parent.number.replace("-", " ")},
        {"cross": cross.number},
        {"lot": lemon_sowing.packet.lot.number.lower()},
        {"packet": lemon_sowing.packet.number},
    ):
        assert numbers(ask(**filters)) == {lemon_sowing.number}, filters
    assert ask(seed_parent=cross.pollen_parent.number)["results"] == []


def test_a_private_plant_is_not_found_by_its_number(ask, tansy):
    parent = make_plant(tansy, "Primula 'Secret'", visibility=Visibility.ME)
    lot = lot_of_cross(tansy, pollen_parent=parent)
    lot.visibility = Visibility.SOCIETY
    lot.save()
    counted_sowing(tansy, 2, 20, lot=lot)
    (row,) = ask(pollen_parent="Secret")["results"]
    assert row["pollen_parents"] == [{"name": "Primula 'Secret'", "number": None, "part": "1"}]
    assert ask(pollen_parent=parent.number)["results"] == []


@pytest.mark.parametrize(
    ("filters", "words"),
    [
        ({"pollenparent": "Lemon"}, "Did you mean 'pollen_parent'?"),
        ({"pollen_parent": "P000002-08"}, "mistyped"),
        ({"cross": "C000001-00"}, "mistyped"),
        ({"sown_year": "soon"}, "number"),
        ({"treatment": "prayer"}, "not one of the available choices"),
    ],
)
def test_what_cannot_be_is_refused_at_its_name(ask, filters, words):
    errors = ask(expect=400, **filters)["errors"]
    assert words in errors[next(iter(filters))][0]


def test_pages_follow_each_other_and_hold_every_row_once(ask, tansy, wilhelmina, with_key):
    sown = {counted_sowing(tansy, 1, 10).number for _ in range(5)}
    script, address, seen = with_key(wilhelmina), f"{ADDRESS}?page_size=2", []
    while address:
        page = script.get(address).json()
        assert len(page["results"]) <= 2
        seen += [row["sowing"] for row in page["results"]]
        address = page["next"]
    assert sorted(seen) == sorted(sown)


def test_more_rows_cost_no_more_queries(
    tansy, wilhelmina, with_key, lemon_lot, django_assert_max_num_queries
):
    script = with_key(wilhelmina)
    script.get("/api/v1/me/")
    for _ in range(2):
        for _ in range(3):
            counted_sowing(tansy, 5, 10, lot=lemon_lot)
            counted_sowing(tansy, 5, 10)
        with django_assert_max_num_queries(16):
            script.get(ADDRESS)


def test_one_sowing_is_shown_by_its_number_or_not_at_all(
    ask, wilhelmina, with_key, lemon_sowing, private_sowing
):
    script = with_key(wilhelmina)
    row = script.get(f"{ADDRESS}{lemon_sowing.number}/").json()
    assert row["germinated"] == 78
    assert script.get(f"{ADDRESS}{private_sowing.number}/").status_code == 404
    assert "number" in script.get(f"{ADDRESS}W000001-00/").json()["errors"]


@pytest.mark.parametrize("how", ["by name", "by header"])
def test_the_rows_come_as_a_table_too(wilhelmina, with_key, lemon_sowing, private_sowing, how):
    script = with_key(wilhelmina)
    answer = (
        script.get(ADDRESS, {"format": "csv"})
        if how == "by name"
        else script.get(ADDRESS, headers={"accept": "text/csv"})
    )
    text = b"".join(answer.streaming_content).decode()
    assert answer["Content-Type"].startswith("text/csv")
    assert "\r\n" in text
    (row,) = csv.DictReader(io.StringIO(text, newline=""))
    assert row["sowing"] == lemon_sowing.number
    assert (row["germinated"], row["seeds"], row["looks"]) == ("78", "120", "14: 78")
    assert row["pollen_parents"] == "Primula 'Oddwater Lemon'"
    assert "56-73 %" in row["how_share"]


def test_a_table_says_the_same_as_the_rows(ask, wilhelmina, with_key, variety):
    text = b"".join(with_key(wilhelmina).get(ADDRESS, {"format": "csv"}).streaming_content).decode()
    table = {row["sowing"]: row for row in csv.DictReader(io.StringIO(text, newline=""))}
    for row in ask()["results"]:
        cells = table[row["sowing"]]
        for name in ("name", "lot", "packet", "harvest_year", "sown_on", "seeds", "germinated"):
            assert cells[name] == str(row[name])
        assert float(cells["share_low"]) == pytest.approx(row["share"]["low"])


def test_a_table_refused_is_told_in_words(wilhelmina, with_key):
    answer = with_key(wilhelmina).get(ADDRESS, {"format": "csv", "parnt": "x"})
    assert answer.status_code == 400
    assert "Did you mean 'parent'?" in answer.content.decode()


def test_a_large_table_costs_few_queries(
    tansy, wilhelmina, with_key, lemon_lot, django_assert_max_num_queries
):
    for _ in range(6):
        counted_sowing(tansy, 5, 10, lot=lemon_lot)
    script = with_key(wilhelmina)
    script.get("/api/v1/me/")
    with django_assert_max_num_queries(16):
        assert list(script.get(ADDRESS, {"format": "csv"}).streaming_content)


def test_the_address_is_what_the_pages_call_it():
    assert reverse("api-germination-list") == ADDRESS


def test_a_recipient_sees_the_history_of_seed_she_was_given(tansy, wilhelmina, with_key):
    """A private lot is seen by who has a packet of it."""
    lot = LotFactory(raised_by=tansy, visibility=Visibility.ME)
    counted_sowing(tansy, 9, 20, lot=lot)
    packet = packets_of(lot)[0]
    packet.holder = wilhelmina
    packet.save()
    assert len(with_key(wilhelmina).get(ADDRESS).json()["results"]) == 1
