"""An entry from a device without a signal is written once, refused in words, or shown with both versions."""

import datetime
import uuid

import pytest
from django.test import Client

from crosses.actions.pollination import withdraw_pollination
from crosses.base.clock import now
from crosses.models import Check, Plant, Pollination, TouchUp
from seedbank.sowings.models import Count
from tests.browser.scene import days_ago, grown_and_given
from tests.factories.crosses import make_plant


@pytest.fixture
def device(signed_in, tansy):
    """A device in Tansy's pocket: sends an entry, and returns the answer."""

    def send(entry: str, about: str = "", /, *, as_client: Client | None = None, **fields):
        client = as_client or signed_in(tansy)
        sent = {
            "entry": entry,
            "about": about,
            "client_key": fields.pop("key", None) or uuid.uuid4(),
            "member": tansy.number,
            "logged_at": now().isoformat(),
            **fields,
        }
        return client.post("/offline/entry/", sent)

    return send


@pytest.fixture
def pair(tansy) -> dict[str, str]:
    plants = [
        make_plant(tansy, name)
        for name in ("Primula 'Quillfeather Smoke'", "Primula 'Oddwater Lemon'")
    ]
    return {
        "seed_parent": plants[0].number,
        "pollen_parent": plants[1].number,
        "pollinated_on": days_ago(0).date().isoformat(),
        "flowers": "2",
        "tool": "pick",
        "pollen_state": "fresh",
    }


def test_a_pollination_is_written_once_however_often_it_comes(device, pair):
    key = uuid.uuid4()
    first = device("pollination", key=key, **pair).json()
    second = device("pollination", key=key, **pair).json()
    assert (first["outcome"], second["outcome"]) == ("done", "again")
    assert first["number"] == second["number"] == Pollination.objects.get().number


def test_it_is_dated_by_the_moment_it_was_logged_on_the_device(device, pair):
    # Of the day before, so that it is the day of the pollen at whatever hour this runs.
    moment = now() - datetime.timedelta(days=1)
    pair["pollinated_on"] = days_ago(1).date().isoformat()
    device("pollination", logged_at=moment.isoformat(), **pair)
    assert Pollination.objects.get().logged_at == moment


@pytest.mark.parametrize(
    ("ahead", "said"),
    [
        (datetime.timedelta(hours=3), "still to come"),
        (datetime.timedelta(days=-4000), "over a year ago"),
    ],
)
def test_a_clock_that_cannot_be_right_is_said_and_nothing_is_written(device, pair, ahead, said):
    answer = device("pollination", logged_at=(now() + ahead).isoformat(), **pair).json()
    assert answer["outcome"] == "refused"
    assert said in answer["words"]
    assert not Pollination.objects.exists()


def test_with_its_growers_word_it_is_written_at_the_societys_own_time(device, pair):
    wrong = (now() + datetime.timedelta(hours=3)).isoformat()
    assert device("pollination", logged_at=wrong, agreed="1", **pair).json()["outcome"] == "done"
    assert Pollination.objects.get().logged_at <= now()


def test_bad_input_is_said_at_its_field(device, pair):
    answer = device("pollination", **{**pair, "flowers": "0"}).json()
    assert answer["outcome"] == "refused"
    assert list(answer["errors"]) == ["flowers"]


def test_both_ways_is_two_pollinations_of_one_entry(device, pair):
    key = uuid.uuid4()
    for _ in range(2):
        device("pollination", key=key, both_ways="on", flowers_back="3", **pair)
    assert Pollination.objects.count() == 2


def test_a_touch_up_may_speak_of_a_pollination_by_the_key_it_was_logged_with(device, pair):
    key, day = uuid.uuid4(), pair["pollinated_on"]
    touch_up = {"done_on": day, "pollen_state": "fresh"}
    assert device("touch-up", str(key), **touch_up).json()["outcome"] == "later"
    device("pollination", key=key, **pair)
    assert device("touch-up", str(key), **touch_up).json()["outcome"] == "done"
    assert TouchUp.objects.get().pollination == Pollination.objects.get()


def test_a_look_at_a_flower_withdrawn_meanwhile_shows_what_stands(device, tansy):
    flower = Pollination.objects.get(number=grown_and_given(tansy).flower)
    withdraw_pollination(pollination=flower, by=tansy, at=now(), reason="the tag was on another")
    looks = Check.objects.count()
    look = {"seen_on": days_ago(0).date().isoformat(), "kind": "colouring"}
    answer = device("check", flower.number, **look).json()
    assert answer["outcome"] == "conflict"
    assert any("the tag was on another" in line for line in answer["stands"])
    agreed = device("check", flower.number, agreed="1", **look).json()
    assert agreed["outcome"] == "conflict"
    assert "withdrawn" in agreed["words"]
    assert Check.objects.count() == looks


def test_a_plant_renamed_meanwhile_is_asked_about_and_written_once_agreed(device, pair, tansy):
    plant = Plant.objects.get(number=pair["seed_parent"])
    seen = '{"seed_parent": "Primula \'Quillfeather Smoke\'"}'
    Plant.objects.filter(pk=plant.pk).update(name_text="Primula 'Quillfeather Haze'")
    answer = device("pollination", seen=seen, **pair).json()
    assert answer["outcome"] == "conflict"
    assert "'Quillfeather Haze'" in answer["stands"][0]
    assert "'Quillfeather Smoke'" in answer["stands"][0]
    assert device("pollination", seen=seen, agreed="1", **pair).json()["outcome"] == "done"


def test_a_count_the_pot_has_already_shows_the_pot(device, tansy):
    year = grown_and_given(tansy)
    count = Count.objects.latest("counted_on")
    typed = {"replicate": count.replicate_id, "number": "1", "typed_as": "new"}
    answer = device("count", year.sowing, counted_on=count.counted_on.isoformat(), **typed).json()
    assert answer["outcome"] == "conflict"
    assert any("Pot 1: 11 of 25" in line for line in answer["stands"])


def test_another_members_entry_is_not_written_as_ones_own(device, pair, signed_in, cosmo):
    answer = device("pollination", as_client=signed_in(cosmo), **pair)
    assert answer.status_code == 409
    assert not Pollination.objects.exists()


def test_with_nobody_signed_in_it_waits(device, pair, client):
    assert device("pollination", as_client=client, **pair).status_code == 401
    assert not Pollination.objects.exists()


def test_a_flower_of_another_grower_cannot_be_written_on(device, cosmo):
    flower = grown_and_given(cosmo).flower
    look = {"seen_on": days_ago(0).date().isoformat(), "kind": "colouring"}
    assert device("check", flower, **look).json()["outcome"] == "conflict"


def test_the_copy_holds_ones_own_records_and_none_of_others(signed_in, tansy, cosmo):
    mine, theirs = grown_and_given(tansy), grown_and_given(cosmo)
    copy = signed_in(tansy).get("/offline/copy/").content.decode()
    assert mine.flower in copy
    assert mine.plant in copy
    assert mine.sowing in copy
    for number in (theirs.flower, theirs.plant, theirs.cross, theirs.sowing):
        assert number not in copy


def test_the_copy_asks_no_more_of_the_database_for_more_records(
    signed_in, tansy, django_assert_max_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    grown_and_given(tansy)
    client = signed_in(tansy)
    client.get("/offline/copy/")
    with CaptureQueriesContext(
        connection,
    ) as few:
        client.get("/offline/copy/")
    for _ in range(4):
        grown_and_given(tansy)
    with django_assert_max_num_queries(len(few)):
        client.get("/offline/copy/")


@pytest.mark.parametrize("address", ["/sw.js", "/manifest.webmanifest", "/offline/"])
def test_what_a_device_keeps_of_the_site_is_the_same_for_everybody(client, address):
    assert client.get(address).status_code == 200


def test_the_service_worker_gets_another_version_with_every_change_of_a_file(client, settings):
    settings.DEBUG = True
    first = client.get("/sw.js").content
    assert client.get("/sw.js").content == first
    settings.SOCIETY_NAME = "Another fellowship"
    assert client.get("/sw.js").content != first
