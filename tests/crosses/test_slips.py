"""A slip of the finger is taken back whole, and the form comes back as it was filled in."""

import pytest
from django.urls import reverse

from crosses.actions.pollination import log_both_ways
from crosses.models import Pollination
from tests.conftest import NOON, TODAY
from tests.factories.crosses import make_cross

pytestmark = pytest.mark.django_db
SLIP = {"reason": "taken back at once", "again": "yes"}


@pytest.fixture
def both_ways(tansy) -> tuple[Pollination, Pollination]:
    cross = make_cross(tansy, season=TODAY.year)
    return log_both_ways(
        cross=cross, by=tansy, at=NOON, pollinated_on=TODAY, flowers=3, note="windy"
    )


def test_both_ways_is_taken_back_both_ways(both_ways, tansy, signed_in):
    there, back = both_ways
    client = signed_in(tansy)
    page = client.get(reverse("pollination-tag", args=[there.number])).content.decode()
    assert "It was a slip: withdraw both" in page
    answer = client.post(
        reverse("pollination-withdraw", args=[there.number]), SLIP | {"both": "yes"}, follow=True
    )
    assert not Pollination.objects.filter(withdrawn_at=None).exists()
    assert f"{there.number} and {back.number} are withdrawn." in answer.content.decode()


def test_one_of_the_two_may_stay(both_ways, tansy, signed_in):
    there, back = both_ways
    signed_in(tansy).post(reverse("pollination-withdraw", args=[there.number]), SLIP)
    assert Pollination.objects.get(withdrawn_at=None) == back


def test_the_form_comes_back_filled_in(both_ways, tansy, signed_in):
    there, _back = both_ways
    answer = signed_in(tansy).post(
        reverse("pollination-withdraw", args=[there.number]), SLIP, follow=True
    )
    form = answer.context["form"]
    assert form["seed_parent"].value().startswith(there.cross.seed_parent.number)
    assert form["pollen_parent"].value().startswith(there.cross.pollen_parent.number)
    assert (form["flowers"].value(), form["note"].value()) == (3, "windy")


def test_a_withdrawn_flower_reads_withdrawn_and_leads_to_the_form(both_ways, tansy, signed_in):
    there, _back = both_ways
    client = signed_in(tansy)
    client.post(reverse("pollination-withdraw", args=[there.number]), {"reason": "a slip"})
    page = client.get(reverse("pollination-detail", args=[there.number])).content.decode()
    assert '<span class="state withdrawn">withdrawn</span>' in page
    assert f"/flowers/add/?like={there.number}" in page
    assert ">waiting<" not in page


def test_nobody_fills_a_form_with_the_flower_of_another(both_ways, cosmo, signed_in):
    there, _back = both_ways
    assert signed_in(cosmo).get(f"/flowers/add/?like={there.number}").status_code in {403, 404}
