"""One form sent several times at one moment: a double tap on a slow line."""

import re
import time

import pytest
from django.test import Client
from django.urls import reverse

from crosses.actions.plant import add_plant
from crosses.models import Plant
from crosses.models.sent_form import SentForm

pytestmark = pytest.mark.usefixtures("real_database")

SENDS = 6
ADD = "/plants/add/"
TYPED = {"name_text": "Primula 'Oddwater Lemon'", "visibility": "society", "origin": "unknown"}
PAUSE_SECONDS = 0.2


def test_control_looking_before_writing_lets_every_send_through(tansy, at, all_at_once):
    def look_then_write() -> None:
        if SentForm.objects.filter(digest="1" * 64).exists():
            return
        time.sleep(PAUSE_SECONDS)
        add_plant(keeper=tansy, by=tansy, at=at, name_text=TYPED["name_text"])

    all_at_once(look_then_write, SENDS)
    assert Plant.objects.count() == SENDS


def test_a_form_sent_many_times_at_once_makes_one_plant_and_all_are_led_to_it(tansy, all_at_once):
    browser = Client()
    browser.force_login(tansy)
    page = browser.get(ADD).content.decode()
    key = re.findall(r'name="form_key" value="([^"]*)"', page)[-1]
    cookies = browser.cookies

    def send() -> str:
        client = Client()
        client.cookies = cookies
        return client.post(ADD, TYPED | {"form_key": key}).url

    answers = all_at_once(send, SENDS)
    plant = Plant.objects.get()
    assert set(answers) == {reverse("plant-detail", args=[plant.number])}


def test_what_is_entered_as_sent_goes_with_an_act_that_fails(tansy, monkeypatch, all_at_once):
    browser = Client(raise_request_exception=False)
    browser.force_login(tansy)

    def crash(**facts: object) -> None:
        add_plant(**facts)
        raise RuntimeError

    monkeypatch.setattr("crosses.views.plant.add_plant", crash)
    assert browser.post(ADD, TYPED | {"form_key": "1"}).status_code == 500
    assert (Plant.objects.count(), SentForm.objects.count()) == (0, 0)
