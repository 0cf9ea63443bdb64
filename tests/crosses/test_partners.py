"""Choosing a partner: ranked by what is known, warned of, never forbidden."""

import datetime

from django.urls import reverse

from crosses.actions.capsule import record_check
from crosses.models import Plant
from crosses.queries.partners import partners_of
from tests.conftest import NOON
from tests.factories.crosses import make_cross, make_plant, make_pollination


def partner(viewer, plant, other, *, as_seed_parent=True):
    found = partners_of(viewer, plant, as_seed_parent=as_seed_parent, own_only=True)
    return next(one for one in found if one.plant == other)


def tried(grower, seed, pollen, flowers, took):
    pollination = make_pollination(
        grower, make_cross(grower, seed_parent=seed, pollen_parent=pollen), flowers=flowers
    )
    kind = ("swelling", took) if took else ("aborted", flowers)
    record_check(
        pollination=pollination,
        by=grower,
        at=NOON,
        seen_on=datetime.date(2026, 5, 1),
        kind=kind[0],
        flowers=kind[1],
    )


def test_the_other_form_stands_before_the_same_form_which_is_warned_of(tansy, smoke):
    grey = make_plant(tansy, "Primula 'Plumbline Grey'", style_form=Plant.StyleForm.THRUM)
    lemon = make_plant(tansy, "Primula 'Oddwater Lemon'", style_form=Plant.StyleForm.PIN)
    found = partners_of(tansy, smoke, as_seed_parent=True, own_only=True)
    assert [one.plant for one in found] == [lemon, grey]
    assert "Both are thrum" in found[1].cautions[0].words


def test_a_sister_stands_behind_a_stranger(tansy):
    cross = make_cross(tansy)
    plant, sister = (
        make_plant(tansy, name, origin="cross", raised_from=cross) for name in ("N-1", "N-2")
    )
    stranger = make_plant(tansy, "Primula zz")
    order = [one.plant for one in partners_of(tansy, plant, as_seed_parent=True, own_only=True)]
    assert order.index(stranger) < order.index(sister)
    # Offspring of full sibs: F = 1/4 (Falconer and Mackay, ch. 5).
    assert partner(tansy, plant, sister).offspring_inbreeding == 0.25


def test_a_division_is_said_to_make_a_selfing(tansy, smoke):
    division = make_plant(tansy, "Primula again", origin="division", propagated_from=smoke)
    found = partner(tansy, smoke, division)
    assert found.offspring_inbreeding == 0.5
    assert any("selfing" in caution.words for caution in found.cautions)


def test_each_direction_has_its_own_count(tansy, smoke):
    lemon = make_plant(tansy, "Primula 'Oddwater Lemon'")
    tried(tansy, smoke, lemon, flowers=6, took=5)
    there = partner(tansy, smoke, lemon)
    back = partner(tansy, smoke, lemon, as_seed_parent=False)
    assert (there.chance.tried.x, there.chance.tried.n) == (5, 6)
    assert (back.chance.tried.x, back.chance.tried.n) == (0, 0)


def test_two_of_two_does_not_outdo_eighteen_of_twenty(tansy, smoke):
    few, many = make_plant(tansy, "Primula few"), make_plant(tansy, "Primula many")
    mother = make_plant(tansy, "Primula mother")
    for usual in ("Primula x", "Primula y", "Primula z"):
        tried(tansy, mother, make_plant(tansy, usual), flowers=10, took=4)
    tried(tansy, mother, few, flowers=2, took=2)
    tried(tansy, mother, many, flowers=20, took=18)
    order = [one.plant for one in partners_of(tansy, smoke, as_seed_parent=True, own_only=True)]
    assert order.index(many) < order.index(few)


def test_the_page_opens_and_leads_to_the_pollination(tansy, smoke, signed_in):
    lemon = make_plant(tansy, "Primula 'Oddwater Lemon'")
    page = signed_in(tansy).get(reverse("plant-partners", args=[smoke.number])).content.decode()
    assert f"seed_parent={smoke.number}&amp;pollen_parent={lemon.number}" in page
    assert "never tried" in page


def test_the_page_costs_no_more_queries_for_more_partners(
    tansy, smoke, signed_in, django_assert_max_num_queries
):
    client, page = signed_in(tansy), reverse("plant-partners", args=[smoke.number])
    make_plant(tansy, "Primula a")
    with django_assert_max_num_queries(14) as few:
        client.get(page)
    for name in ("Primula b", "Primula c", "Primula d"):
        make_plant(tansy, name)
    with django_assert_max_num_queries(len(few.captured_queries)):
        client.get(page)


def test_a_plant_of_another_genus_is_warned_of_and_stands_last(tansy, smoke):
    streptocarpus = make_plant(tansy, "Streptocarpus 'Oddwater Blue'")
    primula = make_plant(tansy, "Primula 'Oddwater Lemon'")
    found = partners_of(tansy, smoke, as_seed_parent=True, own_only=True)
    assert [one.plant for one in found] == [primula, streptocarpus]
    assert "Of two genera, Primula and Streptocarpus" in found[1].cautions[0].words
