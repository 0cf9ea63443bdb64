"""What a grower logs by script, from the plant to the packet; and what stops them."""

import datetime
from typing import Any

import pytest

from crosses.base.visibility import Visibility
from crosses.models import Check, Cross, Plant, Pollination
from seedbank.bank.models import Lot, Packet
from tests.api.conftest import in_true_numbers, lot_of_cross
from tests.conftest import TODAY
from tests.factories.bank import LotFactory, PlaceFactory
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination

pytestmark = pytest.mark.django_db

ROOT = "/api/v1/"


@pytest.fixture
def script(tansy, with_key):
    return with_key(tansy, scope="log")


@pytest.fixture
def send(script):
    """Return a function that sends a write and gives the answer's body."""

    def sent(address: str, body: Any, expect: int = 201) -> Any:
        answer = script.post(ROOT + address, body)
        assert answer.status_code == expect, answer.content
        return answer.json()

    return sent


@pytest.fixture
def change(script):
    """Return a function that reads a record, and changes it by the version that was read."""

    def changed(address: str, body: Any, *, version: str = "", expect: int = 200) -> Any:
        version = version or script.get(ROOT + address)["ETag"]
        answer = script.patch(ROOT + address, body, headers={"If-Match": version})
        assert answer.status_code == expect, answer.content
        return answer.json()

    return changed


def test_a_season_is_logged_by_script_from_the_plant_to_the_packet(send, tansy):
    seed = send("plants/", {"name": "Primula 'Quillfeather Smoke'"})["number"]
    pollen = send("plants/", {"name": "Primula 'Oddwater Lemon'", "origin": "garden"})["number"]
    cross = send("crosses/", {"season": 2026, "seed_parent": seed, "pollen_parent": pollen})
    assert cross["formula"] == "Primula 'Quillfeather Smoke' × P. 'Oddwater Lemon'"
    flower = send(
        "pollinations/",
        {"cross": cross["number"], "pollinated_on": "2026-03-01", "flowers": 3, "is_bagged": True},
    )
    assert (flower["state"], flower["is_bagged"], flower["is_mine"]) == ("waiting", True, True)
    at = f"pollinations/{flower['number']}/"
    again = send(f"{at}touch-ups/", {"done_on": "2026-03-02"})
    assert [touch["done_on"] for touch in again["touch_ups"]] == ["2026-03-02"]
    taken = send(f"{at}checks/", {"seen_on": "2026-03-20", "kind": "swelling", "flowers": 2})
    assert (taken["state"], taken["capsules_set"]) == ("taken", 2)
    harvest = send(
        "harvests/",
        {
            "cross": cross["number"],
            "harvested_on": "2026-05-10",
            "capsules": [{"pollination": flower["number"], "capsules": 2}],
            "seed_counting": "counted",
            "seeds": 80,
        },
    )
    assert harvest["capsules"] == [{"pollination": flower["number"], "capsules": 2}]
    lot = send("lots/", {"harvest": harvest["number"]})
    assert (lot["seeds"], lot["formula"]) == (80, cross["formula"])
    packets = send(f"lots/{lot['number']}/packets/", {"how_many": 3, "seeds_each": 20})
    assert [packet["seeds"] for packet in packets] == [20, 20, 20]
    assert Packet.objects.filter(holder=tansy, lot__number=lot["number"]).count() == 3


def test_a_mixture_is_of_the_plants_named(send, tansy):
    plants = [make_plant(tansy, f"Primula '{name}'").number for name in ("Ash", "Birch", "Cork")]
    told = send(
        "crosses/",
        {
            "season": 2026,
            "seed_parent": plants[0],
            "pollen": "mixed",
            "mixture": [{"plant": plants[1], "parts": 1}, {"plant": plants[2], "parts": 2}],
        },
    )
    assert [(each["number"], each["part"]) for each in told["pollen_parents"]] == [
        (plants[1], "1/3"),
        (plants[2], "2/3"),
    ]


def test_seed_from_elsewhere_is_a_lot_with_its_name_year_and_origin(send, tansy):
    place = PlaceFactory(owner=tansy, code="SHED")
    taxon = TaxonFactory()
    facts = {"name": "Primula veris", "year": 2025, "origin": "garden", "taxon": taxon.pk}
    lot = send("lots/", facts)
    assert (lot["taxon"], lot["is_mine"]) == (taxon.name, True)
    (packet,) = send(
        f"lots/{lot['number']}/packets/", {"how_many": 1, "seeds_each": 20, "place": "shed"}
    )
    assert Packet.objects.get(number=packet["number"]).place == place
    wrong = send("lots/", {"name": "Primula veris"}, expect=400)
    assert set(wrong["errors"]) == {"year", "origin"}


@pytest.mark.parametrize(
    ("address", "body", "field", "status"),
    [
        ("crosses/", {"season": 2026, "seed_parent": "P999999-00"}, "seed_parent", 400),
        (
            "plants/",
            {"name": "x", "origin": "wild", "raised_from": "C000001-00"},
            "raised_from",
            400,
        ),
        ("plants/", {"name": "x", "taxon": 99}, "taxon", 400),
        ("plants/", {"name": "x", "origin": "cross"}, "raised_from", 409),
        ("plants/", {"name": "x", "acquired_on": "2199-01-01"}, "acquired_on", 409),
        ("plants/", {"nmae": "x"}, "nmae", 400),
    ],
)
def test_what_cannot_be_is_told_at_its_field(send, address, body, field, status):
    assert field in send(address, body, expect=status)["errors"]
    assert not Plant.objects.exists()


def test_anothers_cross_is_not_pollinated_and_a_hidden_one_is_nowhere(send, cosmo):
    shown, hidden = make_cross(cosmo), make_cross(cosmo, visibility=Visibility.ME)
    body = {"pollinated_on": "2026-03-01"}
    send("pollinations/", {"cross": shown.number, **body}, expect=403)
    assert "cross" in send("pollinations/", {"cross": hidden.number, **body}, expect=400)["errors"]
    flower = make_pollination(cosmo, shown)
    check = {"seen_on": str(TODAY), "kind": "swelling"}
    send(f"pollinations/{flower.number}/checks/", check, expect=403)
    assert not Check.objects.exists()


def test_flowers_and_harvests_of_a_hidden_cross_are_nowhere(wilhelmina, tansy, with_key):
    lot = lot_of_cross(tansy, visibility=Visibility.ME)
    flower = Pollination.objects.get()
    for address in ("pollinations/", "harvests/"):
        assert with_key(wilhelmina).get(ROOT + address).json()["results"] == []
        assert len(with_key(tansy).get(ROOT + address).json()["results"]) == 1
    assert with_key(wilhelmina).get(f"{ROOT}pollinations/{flower.number}/").status_code == 404
    assert with_key(wilhelmina).get(f"{ROOT}harvests/{lot.harvest.number}/").status_code == 404


def test_a_record_is_changed_by_the_version_that_was_read(change, tansy):
    cross = make_cross(tansy, aim="lemon")
    told = change(f"crosses/{cross.number}/", {"aim": "smoke", "why": "mistyped"})
    assert told["number"] == cross.number
    assert Cross.objects.get().aim == "smoke"
    assert cross.history.first().history_change_reason == "mistyped"


def test_a_change_of_what_another_changed_since_is_refused(change, script, tansy):
    lot = in_true_numbers(LotFactory(raised_by=tansy, owner=tansy))
    address = f"lots/{lot.number}/"
    old = script.get(ROOT + address)["ETag"]
    change(address, {"storage_temperature_celsius": "4.0", "why": "moved"})
    told = change(
        address,
        {"storage_temperature_celsius": "20.0", "why": "moved"},
        version=old,
        expect=412,
    )
    assert told["code"] == "changed-since"
    lot.refresh_from_db()
    assert lot.storage_temperature_celsius == 4


def test_what_the_answer_leaves_out_is_not_written_over_unseen_either(change, script, tansy):
    plant = make_plant(tansy)
    address = f"plants/{plant.number}/"
    old = script.get(ROOT + address)["ETag"]
    change(address, {"fertility_notes": "from A", "why": "seen"}, version=old)
    change(address, {"fertility_notes": "from B", "why": "seen"}, version=old, expect=412)
    plant.refresh_from_db()
    assert plant.fertility_notes == "from A"


def test_the_version_after_a_change_is_told_with_it(script, tansy):
    lot = in_true_numbers(LotFactory(raised_by=tansy, owner=tansy))
    address = f"{ROOT}lots/{lot.number}/"
    body = {"storage_humidity_percent": "30.0", "why": "dried"}
    answer = script.patch(address, body, headers={"If-Match": script.get(address)["ETag"]})
    assert answer["ETag"] == script.get(address)["ETag"]


def test_a_change_that_names_no_version_is_refused(script, tansy):
    plant = make_plant(tansy)
    answer = script.patch(f"{ROOT}plants/{plant.number}/", {"name": "x", "why": "y"})
    assert (answer.status_code, answer.json()["code"]) == (428, "if-match-missing")


def test_a_flower_and_a_plant_are_corrected(change, tansy):
    plant = make_plant(tansy)
    change(f"plants/{plant.number}/", {"died_on": str(TODAY), "why": "slugs"})
    plant.refresh_from_db()
    assert plant.died_on == TODAY
    flower = make_pollination(tansy, pollinated_on=datetime.date(2026, 4, 1))
    change(f"pollinations/{flower.number}/", {"flowers": 4, "why": "counted again"})
    flower.refresh_from_db()
    assert flower.flowers == 4


def test_the_banks_lot_is_for_a_key_that_keeps(ignatius, with_key):
    lot = in_true_numbers(LotFactory(raised_by=ignatius, owner=None))
    address = f"{ROOT}lots/{lot.number}/packets/"
    body = {"how_many": 1, "seeds_each": 5, "place": PlaceFactory(owner=None, code="A-01").code}
    assert with_key(ignatius, scope="log").post(address, body).status_code == 403
    assert with_key(ignatius, scope="keep").post(address, body).status_code == 201
    assert Lot.objects.get().packets.count() == 1


def test_more_flowers_and_harvests_cost_no_more_queries(
    wilhelmina, with_key, tansy, django_assert_max_num_queries
):
    script = with_key(wilhelmina)
    script.get(f"{ROOT}me/")
    for _ in range(2):
        for _ in range(3):
            lot_of_cross(tansy)
        for address in ("pollinations/", "harvests/", "taxa/", "counts/"):
            with django_assert_max_num_queries(10):
                assert script.get(ROOT + address).status_code == 200


def test_all_that_is_written_of_a_flower_is_read_back(send, change, tansy):
    facts = {
        "pollinated_time": "09:40:00",
        "pollen_state": "stored",
        "pollen_stored_how": "freezer",
        "pollen_stored_days": 4,
        "pollen_seen": False,
        "note": "windy",
    }
    cross = make_cross(tansy).number
    told = send("pollinations/", {"cross": cross, "pollinated_on": "2026-03-01", **facts})
    assert facts.items() <= told.items()
    told = change(f"pollinations/{told['number']}/", {"why": "a look", "pollen_seen": True})
    assert told["pollen_seen"] is True
