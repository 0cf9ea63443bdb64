"""Places: one's own, and the bank's."""

import pytest
from django.urls import reverse

from seedbank.bank.models import Place
from tests.factories.bank import PlaceFactory

pytestmark = pytest.mark.django_db


def test_a_member_adds_a_place_of_their_own(tansy, signed_in):
    signed_in(tansy).post(reverse("place-list"), {"code": "Fridge", "is_bank": "on"})
    assert Place.objects.get().owner == tansy


def test_the_keeper_adds_a_place_to_the_bank(ignatius, signed_in):
    signed_in(ignatius).post(
        reverse("place-list"),
        {"code": "A-03", "is_bank": "on", "walk_order": 3, "temperature_celsius": "4"},
    )
    place = Place.objects.get()
    assert (place.owner, place.walk_order, place.temperature_celsius) == (None, 3, 4)


def test_a_code_is_used_once(tansy, signed_in):
    PlaceFactory(owner=tansy, code="Fridge")
    answer = signed_in(tansy).post(reverse("place-list"), {"code": "Fridge", "name": "downstairs"})
    assert answer.context["form"].errors["code"] == ["There is a place Fridge already."]
    assert "downstairs" in answer.text


def test_two_members_may_use_the_same_code(tansy, cosmo, signed_in):
    PlaceFactory(owner=cosmo, code="Fridge")
    assert signed_in(tansy).post(reverse("place-list"), {"code": "Fridge"}).status_code == 302


def test_a_place_is_changed_by_its_owner_and_nowhere_for_others(tansy, cosmo, ignatius, signed_in):
    place = PlaceFactory(owner=tansy, code="Fridge")
    url = reverse("place-change", args=[place.pk])
    signed_in(tansy).post(url, {"code": "Fridge 2"})
    place.refresh_from_db()
    assert place.code == "Fridge 2"
    assert signed_in(cosmo).get(url).status_code == 404
    assert signed_in(ignatius).get(url).status_code == 404


def test_the_banks_places_are_nowhere_for_members(tansy, ignatius, signed_in):
    url = reverse("place-change", args=[PlaceFactory().pk])
    assert signed_in(tansy).get(url).status_code == 404
    assert signed_in(ignatius).get(url).status_code == 200
