"""A form sent twice is carried out once; one that changes a record says so when the record moved on."""

import datetime
import re

import pytest
from django.urls import reverse

from crosses.actions.plant import change_plant
from crosses.base.sending import clear_sent_forms
from crosses.models import Plant
from crosses.models.sent_form import SentForm
from tests.factories.crosses import make_plant

pytestmark = pytest.mark.django_db

ADD = "/plants/add/"


def hidden(page, name: str) -> str:
    """Return what a page's last form carries under a name: the first is for signing out."""
    found = re.findall(rf'name="{name}" value="([^"]*)"', page.content.decode())
    return found[-1]


def opened(client, address: str) -> dict[str, str]:
    page = client.get(address)
    sent = {"form_key": hidden(page, "form_key")}
    if 'name="version"' in page.content.decode():
        sent["version"] = hidden(page, "version")
    return sent


@pytest.fixture
def browser(tansy, signed_in):
    return signed_in(tansy)


def test_three_posts_of_one_form_make_one_plant_and_lead_to_it(browser):
    sent = opened(browser, ADD) | {
        "name_text": "Primula 'Oddwater Lemon'",
        "visibility": "society",
        "origin": "unknown",
    }
    answers = [browser.post(ADD, sent) for _ in range(3)]
    plant = Plant.objects.get()
    assert {answer.url for answer in answers} == {reverse("plant-detail", args=[plant.number])}


def test_the_form_opened_anew_makes_another_plant(browser):
    typed = {"name_text": "Primula 'Oddwater Lemon'", "visibility": "society", "origin": "unknown"}
    for label in ("1", "2"):
        browser.post(ADD, opened(browser, ADD) | typed | {"own_label": label})
    assert Plant.objects.count() == 2


def test_a_second_plant_of_one_name_and_label_is_asked_about_once(browser):
    typed = {
        "name_text": "Primula 'Oddwater Lemon'",
        "own_label": "OL",
        "visibility": "society",
        "origin": "unknown",
    }
    browser.post(ADD, opened(browser, ADD) | typed)
    asked = browser.post(ADD, opened(browser, ADD) | typed)
    number = Plant.objects.get().number
    assert asked.status_code == 422
    assert f"You have {number} of this name and label." in asked.content.decode()
    assert '<button class="second" name="second" value="yes">' in asked.content.decode()
    meant = {"form_key": hidden(asked, "form_key"), "second": "yes"}
    assert browser.post(ADD, typed | meant).status_code == 302
    assert Plant.objects.count() == 2


def test_going_back_and_typing_another_name_loses_neither(browser):
    sent = opened(browser, ADD) | {"visibility": "society", "origin": "unknown"}
    browser.post(ADD, sent | {"name_text": "Primula 'Oddwater Lemon'"})
    browser.post(ADD, sent | {"name_text": "Primula 'Quillfeather Smoke'"})
    assert Plant.objects.count() == 2


def test_what_was_refused_may_be_put_right_under_the_same_key(browser):
    sent = opened(browser, ADD) | {"visibility": "society", "origin": "cross"}
    refused = browser.post(ADD, sent | {"name_text": "Primula 'Oddwater Lemon'"})
    assert refused.status_code == 422
    assert SentForm.objects.count() == 0
    browser.post(ADD, sent | {"name_text": "Primula 'Oddwater Lemon'", "origin": "unknown"})
    assert Plant.objects.count() == 1


def test_what_was_sent_is_forgotten_after_a_month(browser, at):
    SentForm.objects.create(
        digest="1" * 64, address="/plants/", at=at - datetime.timedelta(days=31)
    )
    kept = SentForm.objects.create(digest="2" * 64, address="/plants/", at=at)
    assert clear_sent_forms(at=at) == 1
    assert list(SentForm.objects.all()) == [kept]


def change(browser, plant, sent, **typed):
    # A browser sends every input, the empty ones too.
    facts = {
        "name_text": plant.name_text,
        "own_label": "",
        "fertility_notes": "",
        "visibility": "society",
        "origin": "unknown",
        "why": "tidied",
    }
    return browser.post(f"/plants/{plant.number}/change/", facts | sent | typed)


def test_the_second_of_two_tabs_is_shown_both_texts_and_may_write_its_own(browser, tansy):
    plant = make_plant(tansy, "Primula 'Oddwater Lemon'")
    first, second = (opened(browser, f"/plants/{plant.number}/change/") for _ in range(2))
    assert change(browser, plant, first, fertility_notes="Sets well.").status_code == 302
    told = change(browser, plant, second, own_label="OL 7")
    text = told.content.decode()
    assert told.status_code == 409
    assert "Sets well." in text
    assert 'value="OL 7"' in text
    plant.refresh_from_db()
    assert (plant.fertility_notes, plant.own_label) == ("Sets well.", "")
    again = {"form_key": hidden(told, "form_key"), "version": hidden(told, "version")}
    assert change(browser, plant, again, own_label="OL 7").status_code == 302
    plant.refresh_from_db()
    assert (plant.fertility_notes, plant.own_label) == ("", "OL 7")


def test_a_form_refused_for_another_reason_keeps_the_version_it_was_opened_with(browser, tansy):
    plant = make_plant(tansy, "Primula 'Oddwater Lemon'")
    mine = opened(browser, f"/plants/{plant.number}/change/")
    change_plant(plant=plant, by=tansy, why="elsewhere", fertility_notes="Sets well.")
    refused = change(browser, plant, mine, name_text="")
    assert refused.status_code == 422
    assert hidden(refused, "version") == mine["version"]


def test_each_change_of_a_record_is_a_version_of_its_own(tansy):
    plant = make_plant(tansy, "Primula 'Oddwater Lemon'")
    before = plant.version
    stale = Plant.objects.get(pk=plant.pk)
    change_plant(plant=plant, by=tansy, why="one", own_label="OL")
    change_plant(plant=stale, by=tansy, why="two", own_label="OL 2")
    assert Plant.objects.get(pk=plant.pk).version == before + 2
