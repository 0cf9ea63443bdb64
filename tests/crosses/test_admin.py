"""The administrator's desk opens on every record and finds things."""

import pytest
from django.urls import reverse

from tests.factories.crosses import TaxonFactory, make_pollination

MODELS = ["taxon", "destinationflag", "plant", "cross", "pollination", "check", "harvest"]


@pytest.mark.parametrize("model", MODELS)
def test_every_list_opens_and_can_be_searched(solveig, signed_in, model):
    make_pollination(solveig)
    page = signed_in(solveig).get(reverse(f"admin:crosses_{model}_changelist"), {"q": "Primula"})
    assert page.status_code == 200


def test_the_state_of_a_flower_cannot_be_typed(solveig, signed_in):
    pollination = make_pollination(solveig)
    page = reverse("admin:crosses_pollination_change", args=[pollination.pk])
    form = signed_in(solveig).get(page).context["adminform"].form
    assert "state" not in form.fields
    assert "flowers" not in form.fields


def test_a_window_of_ripening_is_edited_here(solveig, signed_in):
    taxon = TaxonFactory()
    page = reverse("admin:crosses_taxon_change", args=[taxon.pk])
    form = signed_in(solveig).get(page).context["adminform"].form
    assert {"ripe_low_days", "ripe_high_days", "ripe_source"} <= form.fields.keys()


def test_a_member_has_no_desk(tansy, signed_in):
    answer = signed_in(tansy).get(reverse("admin:crosses_plant_changelist"))
    assert answer.status_code == 302
