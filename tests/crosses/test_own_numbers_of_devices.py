"""Each device of a grower has a letter of its own for the numbers it gives without a signal."""

import uuid

import pytest

from crosses.actions.own_number import letter_of_device
from tests.factories.crosses import make_cross

pytestmark = pytest.mark.django_db


def test_a_device_keeps_its_letter_and_another_device_has_another(tansy, cosmo):
    phone, tablet = uuid.uuid4(), uuid.uuid4()
    assert letter_of_device(grower=tansy, device=phone) == "A"
    assert letter_of_device(grower=tansy, device=tablet) == "B"
    assert letter_of_device(grower=tansy, device=phone) == "A"
    assert letter_of_device(grower=cosmo, device=phone) == "A"


def test_a_letter_that_is_in_the_growers_own_numbers_already_is_left_to_them(tansy):
    make_cross(tansy, own_number="26-A07")
    make_cross(tansy, own_number="19-b2")
    assert letter_of_device(grower=tansy, device=uuid.uuid4()) == "C"


def test_letters_that_look_like_digits_are_left_out_and_after_z_there_are_two(tansy):
    given = [letter_of_device(grower=tansy, device=uuid.uuid4()) for _ in range(26)]
    assert given[7:9] == ["H", "J"]
    assert given[-3:] == ["Z", "AA", "AB"]


def test_the_page_gives_it_to_whoever_is_signed_in(signed_in, tansy, client):
    device = uuid.uuid4()
    asked = signed_in(tansy).post("/offline/letter/", {"device": device})
    assert asked.json() == {"letter": "A"}
    assert signed_in(tansy).post("/offline/letter/", {"device": "mine"}).status_code == 400
    assert signed_in(tansy).get("/offline/letter/").status_code == 405
