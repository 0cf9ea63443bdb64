"""The pages that say no: in the society's words, with a way on."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.factories.crosses import make_cross

pytestmark = pytest.mark.django_db


def test_what_is_another_growers_to_change_says_so_with_a_way_on(tansy, cosmo, signed_in):
    cross = make_cross(tansy)
    answer = signed_in(cosmo).get(reverse("harvest-add", args=[cross.number]))
    assert answer.status_code == 403
    assert "Only its grower may add to a cross." in answer.text
    assert f'href="{reverse("home")}"' in answer.text


def test_an_address_of_nothing_is_told_without_telling_what_there_is(tansy, signed_in):
    answer = signed_in(tansy).get(reverse("plant-detail", args=["P999999-99"]))
    assert answer.status_code == 404
    assert "There is nothing here" in answer.text
    assert "P999999-99" not in answer.text


def test_a_form_from_an_old_page_is_asked_for_once_more(tansy):
    client = Client(enforce_csrf_checks=True)
    client.force_login(tansy)
    answer = client.post(reverse("cross-add"), {})
    assert answer.status_code == 403
    assert "send it once more" in answer.text


def test_a_fault_of_ours_says_that_sending_again_is_safe(tansy, signed_in, monkeypatch):
    client = signed_in(tansy)
    client.raise_request_exception = False

    def fail(*_arguments, **_options):
        raise RuntimeError

    monkeypatch.setattr("crosses.views.cross.seasons_of", fail)
    answer = client.get(reverse("cross-list"))
    assert answer.status_code == 500
    assert "makes no second record" in answer.text
