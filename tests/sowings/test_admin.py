"""The administrator looks at sowings and mends their facts; counts are never typed over."""

import pytest
from django.urls import reverse

from tests.factories.sowings import count_pot, make_sowing, packet_in_hand, pot_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def sowing(tansy):
    sowing = make_sowing(
        tansy, packet_in_hand(tansy, seeds=40), seeds_sown=40, replicate_seeds=[20, 20]
    )
    count_pot(pot_of(sowing), 10, 7)
    return sowing


def test_lists_open_are_searched_and_stay_cheap(
    tansy, sowing, solveig, signed_in, django_assert_max_num_queries
):
    client = signed_in(solveig)
    for _ in range(8):
        count_pot(pot_of(make_sowing(tansy)), 10, 1)
    for page, found in (("sowing", sowing.number), ("count", sowing.number)):
        address = reverse(f"admin:sowings_{page}_changelist")
        with django_assert_max_num_queries(13):
            assert client.get(address).status_code == 200
        assert found in client.get(address, {"q": found}).text


def test_a_fact_is_mended_with_its_history_and_an_act_is_not(sowing, solveig, signed_in):
    address = reverse("admin:sowings_sowing_change", args=[sowing.pk])
    client = signed_in(solveig)
    assert sowing.number in client.get(address).text
    typed = {"purpose": "test", "visibility": "me", "medium": "grit", "seeds_sown": 1}
    formsets = {
        f"{name}-{which}_FORMS": "0"
        for name in ("replicates", "pretreatments", "seedlings")
        for which in ("TOTAL", "INITIAL")
    }
    client.post(address, typed | formsets)
    sowing.refresh_from_db()
    assert (sowing.medium, sowing.visibility, sowing.seeds_sown) == ("grit", "me", 40)
    assert sowing.history.first().history_user == solveig
    for act in ("add", "delete"):
        arguments = [] if act == "add" else [sowing.pk]
        assert client.get(reverse(f"admin:sowings_sowing_{act}", args=arguments)).status_code == 403


def test_a_count_is_read_and_not_changed(sowing, solveig, signed_in):
    count, client = pot_of(sowing).counts.get(), signed_in(solveig)
    address = reverse("admin:sowings_count_change", args=[count.pk])
    assert client.get(address).status_code == 200
    assert client.post(address, {"newly_seen": 20}).status_code == 403
    assert pot_of(sowing).germinated == 7


def test_a_member_has_no_desk(sowing, tansy, signed_in):
    assert signed_in(tansy).get(reverse("admin:sowings_sowing_changelist")).status_code == 302
