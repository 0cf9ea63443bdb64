"""One answer to "what took", wherever a rate is shown."""

import datetime

import pytest
from django.urls import reverse

from crosses.actions.capsule import record_check
from crosses.models import Cross, Pollination
from crosses.queries.crosses import crosses_list
from crosses.queries.fertility import figures_of_plant, pair_model
from crosses.queries.glance import taken_by
from crosses.queries.partners import partners_of
from tests.conftest import NOON
from tests.factories.crosses import make_cross, make_plant, make_pollination

pytestmark = pytest.mark.django_db


def flowers(grower, cross, of, took, **facts):
    made = make_pollination(grower, cross, flowers=of, **facts)
    kind, seen = ("swelling", took) if took else ("aborted", of)
    record_check(
        pollination=made,
        by=grower,
        at=NOON,
        seen_on=datetime.date(2026, 5, 1),
        kind=kind,
        flowers=seen,
    )
    return made


@pytest.fixture
def society(tansy):
    """One cross took 8 of 13; all else must say nothing of it."""
    lemon, smoke = make_plant(tansy, "Primula bearer"), make_plant(tansy, "Primula giver")
    cross = make_cross(tansy, seed_parent=lemon, pollen_parent=smoke)
    flowers(tansy, cross, 13, 8)
    make_pollination(tansy, cross, flowers=7)
    # A visit that found no pollen, closed without a capsule; and a slip taken back.
    visit = make_pollination(tansy, cross, flowers=6, pollen_seen=False)
    slip = flowers(tansy, cross, 5, 5)
    Pollination.objects.filter(pk=visit.pk).update(state=Pollination.State.FAILED)
    Pollination.objects.filter(pk=slip.pk).update(
        withdrawn_at=NOON, withdrawn_by=tansy, withdrawn_reason="slip"
    )
    for pollen, facts in (
        (Cross.Pollen.NONE, {}),
        (Cross.Pollen.SELF, {}),
        (Cross.Pollen.OPEN, {}),
        (Cross.Pollen.UNKNOWN, {}),
        (Cross.Pollen.MIXED, {"mixture": [(smoke, 1), (make_plant(tansy, "Primula third"), 1)]}),
    ):
        flowers(tansy, make_cross(tansy, seed_parent=lemon, pollen=pollen, **facts), 10, 0)
    return cross


def bars(chart):
    return [row[-1] for row in chart.table_rows]


def chance(viewer, cross):
    tried = pair_model(viewer).tried(cross.seed_parent.number, cross.pollen_parent.number)
    return f"{tried.x} of {tried.n}"


def row(viewer, cross):
    found = crosses_list(viewer).get(pk=cross.pk)
    return f"{found.capsules_in_all} of {found.flowers_decided}"


def role(viewer, plant, number):
    share = figures_of_plant(viewer, plant)[number].share
    return f"{share.x} of {share.n}"


def partner(viewer, cross):
    found = partners_of(viewer, cross.seed_parent, as_seed_parent=True, own_only=True)
    (tried,) = (one.tried for one in found if one.plant == cross.pollen_parent)
    return f"{tried.x} of {tried.n}"


INSIDE = {
    "plant as seed parent": lambda v, c: role(v, c.seed_parent, 0),
    "plant as pollen parent": lambda v, c: role(v, c.pollen_parent, 1),
    "chart by month": lambda v, c: ", ".join(bars(taken_by(v, 2026).by_month)),
    "chart by seed parent": lambda v, c: ", ".join(bars(taken_by(v).by_seed_parent)),
    "chart by pollen parent": lambda v, c: ", ".join(bars(taken_by(v).by_pollen_parent)),
    "list of crosses": row,
    "chance of the pair": chance,
    "partners": partner,
}


@pytest.mark.parametrize("place", INSIDE)
def test_each_figure_says_eight_of_thirteen(place, tansy, society):
    assert INSIDE[place](tansy, society) == "8 of 13"


# Page, and its arguments from the cross.
PAGES = {
    "plant-detail": lambda c: [c.seed_parent.number],
    "plant-partners": lambda c: [c.seed_parent.number],
    "cross-detail": lambda c: [c.number],
    "cross-list": lambda c: [],
    "cross-season": lambda c: [],
}


@pytest.mark.parametrize("name", PAGES)
def test_each_page_says_it(name, tansy, society, signed_in):
    text = signed_in(tansy).get(reverse(name, args=PAGES[name](society))).content.decode()
    assert "8 of 13" in text


def test_the_api_says_it(tansy, society, with_key):
    script = with_key(tansy)
    plant = script.get(reverse("api-plant-detail", args=[society.seed_parent.number])).json()
    cross = script.get(reverse("api-cross-detail", args=[society.number])).json()
    assert '"x": 8, "n": 13' in str(plant).replace("'", '"')
    assert (cross["take"]["x"], cross["take"]["n"]) == (8, 13)
