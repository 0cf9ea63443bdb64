"""Each kind of entry from a device: once, again, refused with its choices, in conflict, and later."""

import datetime
import json
import uuid

import pytest

from crosses.actions.pollination import log_pollination, withdraw_pollination
from crosses.base.clock import now
from crosses.models import Cross, Harvest, Plant, Pollination
from seedbank.bank.models import Lot, Packet, Place
from seedbank.sowings.models import Sowing
from seedbank.web.entries import KINDS
from tests.browser.scene import days_ago, grown_and_given
from tests.factories.crosses import make_cross, make_plant

TODAY = days_ago(0).date()
COUNTED = {"seed_counting": "counted", "seeds": "88"}
TAG = {"identified_by": "tag", "certainty_percent": "100", "harvested_on": TODAY.isoformat()}
PLANT = {"origin": "unknown", "visibility": "society"}


@pytest.fixture
def device(signed_in, tansy):
    client = signed_in(tansy)

    def send(entry: str, about: str = "", /, **fields):
        sent = {
            "entry": entry,
            "about": about,
            "client_key": fields.pop("key", None) or uuid.uuid4(),
            "member": tansy.number,
            "logged_at": now().isoformat(),
            **fields,
        }
        return client.post("/offline/entry/", sent).json()

    return send


@pytest.fixture
def flower(tansy) -> Pollination:
    """Three flowers that nobody has looked at."""
    moment = days_ago(60)
    return log_pollination(
        cross=make_cross(tansy, season=moment.year),
        by=tansy,
        at=moment,
        pollinated_on=moment.date(),
        flowers=3,
    )


@pytest.fixture
def year(tansy):
    return grown_and_given(tansy)


def harvest(flower: Pollination, capsules: int = 2, **facts: str) -> dict[str, str]:
    return TAG | COUNTED | {f"capsules_{flower.number}": str(capsules)} | facts


def packets(how_many: int = 2, **facts: str) -> dict[str, str]:
    named = {"name_text": "Primula Dusk × Primula Dawn"}
    return named | {"how_many": str(how_many), "seeds_each": "20"} | facts


def sowing(packet: Packet, **facts: str) -> dict[str, str]:
    return {
        "packet": packet.number,
        "sown_on": TODAY.isoformat(),
        "seeds_sown": "10",
        "purpose": "grow",
        "visibility": "society",
    } | facts


def own_packet(year, tansy) -> Packet:
    return Packet.objects.filter(lot__number=year.lot, holder=tansy, seeds_left=25).first()


def case(kind: str, flower: Pollination, year, tansy):
    """What one entry of a kind says, and of which records it makes one more."""
    pair = {
        "seed_parent": flower.cross.seed_parent.number,
        "pollen_parent": flower.cross.pollen_parent.number,
        "pollinated_on": TODAY.isoformat(),
        "flowers": "1",
        "tool": "pick",
        "pollen_state": "fresh",
    }
    fresh = Lot.objects.create(
        number="L000999-00", name_text="Loose seed", owner=tansy, raised_by=tansy,
        year=TODAY.year, origin="garden", seed_counting="counted", seeds=200,
    )  # fmt: skip
    loose = Harvest.objects.exclude(lots__isnull=False).first()
    pot = Sowing.objects.get(number=year.sowing).replicates.get()
    count = {"replicate": str(pot.pk), "counted_on": TODAY.isoformat(), "number": "1"}
    return {
        "pollination": ("", pair, Pollination),
        "check": (flower.number, {"seen_on": TODAY.isoformat(), "kind": "swelling"}, None),
        "touch-up": (
            flower.number,
            {"done_on": TODAY.isoformat(), "pollen_state": "fresh"},
            None,
        ),
        "harvest": (flower.cross.number, harvest(flower), Harvest),
        "withdrawal": (flower.number, {"reason": "a slip of the finger"}, None),
        "plant": ("", PLANT | {"own_label": "GR"}, Plant),
        "packets": (loose.number if loose else "", packets(), Lot),
        "lot-packets": (fresh.number, packets(), Packet),
        "sowing": ("", sowing(own_packet(year, tansy)), Sowing),
        "count": (year.sowing, count | {"typed_as": "new"}, None),
    }[kind]


@pytest.mark.parametrize("kind", KINDS)
def test_an_entry_of_any_kind_is_written_once_however_often_it_comes(
    kind, device, flower, year, tansy
):
    if kind == "packets":
        device("harvest", flower.cross.number, **harvest(flower))
    about, typed, model = case(kind, flower, year, tansy)
    before = model.objects.count() if model else 0
    key = uuid.uuid4()
    first = device(kind, about, key=key, **typed)
    assert first["outcome"] == "done", first
    made = model.objects.count() - before if model else 0
    second = device(kind, about, key=key, **typed)
    assert second["outcome"] == "again"
    assert (second["number"], second["address"]) == (first["number"], first["address"])
    if model:
        assert model.objects.count() - before == made == (2 if kind == "lot-packets" else 1)


@pytest.mark.parametrize("kind", KINDS)
def test_an_entry_about_what_is_not_ones_own_is_kept_and_told(
    kind, device, flower, year, tansy, cosmo
):
    _about, typed, _model = case(kind, flower, year, tansy)
    theirs = grown_and_given(cosmo)
    of_theirs = {
        "check": theirs.flower, "touch-up": theirs.flower, "withdrawal": theirs.flower,
        "harvest": theirs.cross, "packets": theirs.harvest, "lot-packets": theirs.lot,
        "count": theirs.sowing,
    }  # fmt: skip
    if kind not in of_theirs:
        pytest.skip("It is about nothing but itself.")
    answer = device(kind, of_theirs[kind], **typed)
    assert answer["outcome"] == "conflict"
    assert not answer["may_agree"]


def test_harvest_packets_and_sowing_go_up_in_a_row_from_a_device_that_knew_no_number(
    device, flower
):
    """The seed of a capsule taken far from a signal: each entry is about the one before."""
    harvested, packed = uuid.uuid4(), uuid.uuid4()
    into_packets = packets(how_many=3)
    assert device("packets", str(harvested), key=packed, **into_packets)["outcome"] == "later"
    assert not Lot.objects.exists()
    assert device("harvest", flower.cross.number, key=harvested, **harvest(flower))["outcome"] == (
        "done"
    )
    assert device("packets", str(harvested), key=packed, **into_packets)["outcome"] == "done"
    lot = Lot.objects.get()
    assert lot.harvest == Harvest.objects.get()
    assert lot.packets.count() == 3
    assert device("sowing", **sowing(lot.packets.first()))["outcome"] == "done"
    assert Sowing.objects.get().packet.lot == lot


def test_capsules_of_a_flower_withdrawn_meanwhile_are_asked_about_and_not_dropped(
    device, flower, tansy
):
    withdraw_pollination(pollination=flower, by=tansy, at=now(), reason="the tag was on another")
    answer = device("harvest", flower.cross.number, **harvest(flower))
    assert answer["outcome"] == "conflict"
    assert any("the tag was on another" in line for line in answer["stands"])
    assert not Harvest.objects.exists()


def test_more_capsules_than_are_open_are_refused_at_their_flower_with_what_stands(device, flower):
    answer = device("harvest", flower.cross.number, **harvest(flower, capsules=9))
    assert list(answer["errors"]) == [f"capsules_{flower.number}"]
    assert f"{flower.number}: 3 of 3 flowers can still bear a capsule." in answer["stands"]


def test_a_number_of_seeds_that_is_not_said_to_be_counted_comes_back_with_two_buttons(
    device, flower
):
    typed = harvest(flower, seed_counting="not_yet")
    answer = device("harvest", flower.cross.number, **typed)
    assert answer["choices"] == {"seed_counting": [["counted", "Counted"], ["guessed", "Guessed"]]}
    chosen = device("harvest", flower.cross.number, **typed | {"seed_counting": "guessed"})
    assert chosen["outcome"] == "done"
    assert Harvest.objects.get().seed_counting == "guessed"


def test_a_harvest_needs_no_count_on_the_day_the_capsules_come_in(device, flower):
    typed = harvest(flower, seed_counting="not_yet", seeds="")
    assert device("harvest", flower.cross.number, **typed)["outcome"] == "done"
    assert Harvest.objects.get().seeds is None


def pollination(seed_parent: str, pollen_parent: str, **facts: str) -> dict[str, str]:
    return {
        "seed_parent": seed_parent,
        "pollen_parent": pollen_parent,
        "pollinated_on": TODAY.isoformat(),
        "flowers": "2",
        "tool": "pick",
        "pollen_state": "fresh",
    } | facts


def test_several_plants_that_fit_are_the_choices_of_the_refusal(device, tansy):
    smoke, haze = (
        make_plant(tansy, f"Primula 'Quillfeather {name}'") for name in ("Smoke", "Haze")
    )
    other = make_plant(tansy, "Primula 'Oddwater Lemon'")
    answer = device("pollination", **pollination("quillfeather", other.number))
    offered = [value for value, _words in answer["choices"]["seed_parent"]]
    assert [value.split()[0] for value in offered] == [haze.number, smoke.number]
    chosen = device("pollination", **pollination(offered[1], other.number))
    assert chosen["outcome"] == "done"
    assert Cross.objects.get().seed_parent == smoke


def test_a_plant_known_only_by_its_label_is_written_down_with_the_pollination(device, tansy):
    known = make_plant(tansy, "Primula 'Oddwater Lemon'")
    key = uuid.uuid4()
    answer = device("pollination", key=key, **pollination("Garnet 100%", known.number))
    assert answer["outcome"] == "refused"
    ((value, words),) = answer["choices"]["seed_parent"]
    assert words == "Write Garnet 100% down as a new plant"
    for outcome in ("done", "again"):
        told = device("pollination", key=key, **pollination(value, known.number))
        assert told["outcome"] == outcome
    garnet = Plant.objects.get(name_text="Garnet 100%")
    assert garnet.keeper == tansy
    # The next flower of the same label is of the same plant.
    device("pollination", **pollination(known.number, value))
    assert Plant.objects.filter(name_text="Garnet 100%").count() == 1
    assert Cross.objects.get(pollen_parent=garnet).seed_parent == known


def test_a_new_plant_of_a_pollination_that_is_refused_is_not_written(device, tansy):
    answer = device("pollination", **pollination("new plant: Garnet", "new plant: Garnet"))
    assert answer["outcome"] == "refused"
    assert not Plant.objects.exists()


def test_a_plant_with_neither_name_nor_label_is_refused_at_its_name(device):
    assert list(device("plant", **PLANT)["errors"]) == ["name_text"]


def test_a_place_that_is_not_known_yet_is_made_with_the_packets(device, flower, tansy):
    device("harvest", flower.cross.number, **harvest(flower))
    about = Harvest.objects.get().number
    tin = "Fridge door, green tin"
    answer = device("packets", about, **packets(place=tin))
    ((value, words),) = answer["choices"]["place"]
    assert words == f"Make a place {tin}"
    assert device("packets", about, **packets(place=value))["outcome"] == "done"
    place = Place.objects.get(owner=tansy)
    assert (place.code, place.name) == ("Fridge door, green", tin)
    assert {packet.place for packet in Packet.objects.all()} == {place}
    # By its whole name it is known from now on.
    assert Place.objects.filter(name__iexact=tin).count() == 1


def test_both_tags_keep_the_numbers_that_were_written_on_them_without_a_signal(device, tansy):
    smoke, lemon = make_plant(tansy, "Smoke"), make_plant(tansy, "Lemon")
    typed = pollination(
        smoke.number, lemon.number, both_ways="on", own_number="26-A1", own_number_back="26-A2"
    )
    assert device("pollination", **typed)["outcome"] == "done"
    there, back = Cross.objects.order_by("pk")
    assert (there.own_number, there.seed_parent) == ("26-A1", smoke)
    assert (back.own_number, back.seed_parent, back.reciprocal_of) == ("26-A2", lemon, there)
    # The second flower of the pair has the same number on its tag, and joins the same crosses.
    device("pollination", **typed)
    assert Cross.objects.count() == 2
    # As many flowers on the other plant, where nothing else was said.
    assert [one.flowers for one in Pollination.objects.all()] == [2, 2, 2, 2]


def test_a_way_back_made_elsewhere_meanwhile_does_not_change_the_number_on_the_tag(device, tansy):
    smoke, lemon = make_plant(tansy, "Smoke"), make_plant(tansy, "Lemon")
    device("pollination", **pollination(smoke.number, lemon.number, both_ways="on"))
    typed = pollination(
        smoke.number, lemon.number, both_ways="on", own_number="26-01", own_number_back="26-A2"
    )
    typed["own_number"] = Cross.objects.order_by("pk").first().own_number
    assert device("pollination", **typed)["outcome"] == "done"
    assert Cross.objects.get(own_number="26-A2").seed_parent == lemon
    assert Cross.objects.count() == 3


def test_a_number_that_is_taken_comes_back_with_the_next_free_one(device, tansy):
    cross = make_cross(tansy, season=TODAY.year)
    smoke, lemon = make_plant(tansy, "Smoke"), make_plant(tansy, "Lemon")
    typed = pollination(smoke.number, lemon.number, own_number=cross.own_number)
    answer = device("pollination", **typed)
    assert not answer["may_agree"]
    ((free, _words),) = answer["choices"]["own_number"]
    assert device("pollination", **typed | {"own_number": free})["outcome"] == "done"


def test_what_the_growers_word_overrules_says_so_and_nothing_else_does(device, flower):
    early = (now() + datetime.timedelta(hours=3)).isoformat()
    look = {"seen_on": TODAY.isoformat(), "kind": "swelling"}
    assert device("check", flower.number, logged_at=early, **look)["may_agree"]
    seen = json.dumps({"seed_parent": "Another name"})
    plants = (flower.cross.seed_parent.number, flower.cross.pollen_parent.number)
    assert device("pollination", seen=seen, **pollination(*plants))["may_agree"]
    assert not device("check", flower.number, **look | {"flowers": "9"})["may_agree"]


def test_a_withdrawal_may_be_of_a_pollination_that_has_only_a_key(device, tansy):
    smoke, lemon = make_plant(tansy, "Smoke"), make_plant(tansy, "Lemon")
    key = uuid.uuid4()
    assert device("withdrawal", str(key), reason="a slip")["outcome"] == "later"
    device("pollination", key=key, **pollination(smoke.number, lemon.number))
    assert device("withdrawal", str(key), reason="a slip")["outcome"] == "done"
    assert Pollination.objects.get().is_withdrawn
