"""Plants, crosses, seed lots and the exchange list, as each person may see them."""

import json

import pytest
from django.urls import reverse

from crosses.base.visibility import Visibility
from seedbank.exchange.actions.listing import add_lines
from tests.api.conftest import lot_of_cross
from tests.factories.bank import LotFactory, packets_of
from tests.factories.crosses import make_cross, make_plant, make_pollination
from tests.factories.exchange import OPENS, listed_round, make_round, stored_lot
from tests.factories.sowings import counted_sowing

pytestmark = pytest.mark.django_db


def results(script, url_name, **filters):
    answer = script.get(reverse(url_name), filters)
    assert answer.status_code == 200, answer.content
    return answer.json()["results"]


def test_a_private_plant_is_told_to_its_keeper_only(wilhelmina, tansy, ignatius, with_key):
    plant = make_plant(tansy, visibility=Visibility.ME)
    for member, seen in [(tansy, 1), (wilhelmina, 0), (ignatius, 0)]:
        assert len(results(with_key(member), "api-plant-list")) == seen
    address = reverse("api-plant-detail", args=[plant.number])
    assert with_key(wilhelmina).get(address).status_code == 404
    assert with_key(tansy).get(address).json()["is_mine"] is True


def test_where_a_wild_plant_grew_is_told_by_its_country_only(wilhelmina, tansy, with_key):
    make_plant(
        tansy, "Primula allionii", origin="wild", wild_country="FR", wild_where="a cliff at Tende"
    )
    (plant,) = results(with_key(wilhelmina), "api-plant-list")
    assert plant["wild_country"] == "FR"
    assert "Tende" not in json.dumps(plant)


def test_a_plant_names_the_cross_it_was_raised_from_where_that_may_be_seen(
    wilhelmina, tansy, with_key
):
    cross = make_cross(tansy, visibility=Visibility.ME)
    seedling = make_plant(tansy, "26-07-1", origin="cross", raised_from=cross)
    address = reverse("api-plant-detail", args=[seedling.number])
    assert with_key(tansy).get(address).json()["raised_from"] == cross.number
    seen_by_others = with_key(wilhelmina).get(address)
    assert seen_by_others.status_code == 404 or seen_by_others.json()["raised_from"] is None


def test_a_cross_tells_how_its_flowers_took_with_their_number(wilhelmina, tansy, with_key):
    lot = lot_of_cross(tansy)
    (cross,) = results(with_key(wilhelmina), "api-cross-list", season=2025)
    assert cross["number"] == lot.harvest.cross.number
    assert (cross["take"]["x"], cross["take"]["n"]) == (3, 3)
    assert "3 of 3" in cross["take"]["how"]
    assert cross["seeds_harvested"] == 400


def test_a_flower_nobody_knows_of_yet_is_no_failure(wilhelmina, tansy, with_key):
    make_pollination(tansy)
    (cross,) = results(with_key(wilhelmina), "api-cross-list")
    assert cross["flowers"] == 1
    assert cross["take"]["estimate"] is None


def test_a_private_cross_is_told_to_its_grower_only(wilhelmina, tansy, with_key):
    make_cross(tansy, visibility=Visibility.ME)
    assert results(with_key(wilhelmina), "api-cross-list") == []
    assert len(results(with_key(tansy), "api-cross-list")) == 1


def test_a_lot_tells_its_germination_so_far_of_what_one_may_see(
    wilhelmina, tansy, with_key, lemon_sowing, private_sowing
):
    (seen,) = results(with_key(wilhelmina), "api-lot-list")
    assert (seen["germination"]["x"], seen["germination"]["n"]) == (78, 120)
    (own,) = results(with_key(tansy), "api-lot-list")
    assert own["germination"]["n"] == 220
    assert "on average over sowings" in own["germination"]["how"]


def test_lots_are_narrowed_by_name_year_and_origin(wilhelmina, with_key, tansy, lemon_lot):
    LotFactory(raised_by=tansy, name_text="Primula veris", year=2023)
    script = with_key(wilhelmina)
    assert len(results(script, "api-lot-list", name="lemon")) == 1
    assert len(results(script, "api-lot-list", year=2023)) == 1
    assert len(results(script, "api-lot-list", origin="controlled")) == 1


@pytest.mark.parametrize(
    ("name", "most"), [("api-lot-list", 21), ("api-cross-list", 11), ("api-plant-list", 10)]
)
def test_more_records_cost_no_more_queries(
    wilhelmina, with_key, tansy, name, most, django_assert_max_num_queries
):
    script = with_key(wilhelmina)
    script.get("/api/v1/me/")
    for _ in range(2):
        for _ in range(2):
            counted_sowing(tansy, 5, 10, lot=lot_of_cross(tansy))
        with django_assert_max_num_queries(most):
            script.get(reverse(name))


@pytest.fixture
def exchange_is_open(monkeypatch):
    """It is a day on which the list of the standing round is open."""
    import datetime

    from tests.conftest import NOON, TODAY

    monkeypatch.setattr("seedbank.api.views.listing.now", lambda: NOON + datetime.timedelta(days=1))
    monkeypatch.setattr("seedbank.api.views.listing.today", lambda: TODAY)


def test_the_open_list_is_told_in_the_words_of_its_page(
    wilhelmina, ignatius, with_key, exchange_is_open
):
    listed_round(ignatius, stored_lot("Primula veris"), stored_lot("Primula allionii"))
    lines = results(with_key(wilhelmina), "api-list")
    assert [(line["line"], line["name"]) for line in lines] == [
        (1, "Primula allionii"),
        (2, "Primula veris"),
    ]
    assert lines[0]["packets"] == 2
    assert lines[0]["can_be_asked"] is True
    assert len(results(with_key(wilhelmina), "api-list", text="veris")) == 1


def test_a_list_that_is_not_open_is_nobodys_but_the_keepers(
    wilhelmina, ignatius, with_key, exchange_is_open
):
    found = make_round(ignatius)
    add_lines(round=found, lots=[stored_lot()], by=ignatius, at=OPENS)
    address = reverse("api-list")
    assert with_key(wilhelmina).get(address).status_code == 404
    assert with_key(wilhelmina).get(address, {"round": found.slug}).json()["results"] == []
    assert len(with_key(ignatius).get(address).json()["results"]) == 1


def test_a_round_nobody_held_is_not_found(wilhelmina, with_key):
    assert with_key(wilhelmina).get(reverse("api-list"), {"round": "no-such"}).status_code == 404


def test_more_lines_cost_no_more_queries(
    wilhelmina, ignatius, with_key, exchange_is_open, django_assert_max_num_queries
):
    listed_round(ignatius, *(stored_lot(f"Primula veris {n}") for n in range(8)))
    script = with_key(wilhelmina)
    script.get("/api/v1/me/")
    with django_assert_max_num_queries(23):
        assert len(results(script, "api-list")) == 8


def test_a_packet_tells_nobodys_name(wilhelmina, tansy, with_key):
    packets_of(LotFactory(raised_by=tansy))
    for name in ("api-packet-list", "api-lot-list", "api-cross-list", "api-plant-list"):
        assert "Tansy" not in json.dumps(results(with_key(wilhelmina), name))
