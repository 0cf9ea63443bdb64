"""Choosing a partner: ranked by what is known, warned of, never forbidden."""

import datetime

import pytest
from django.urls import reverse

from crosses.actions.capsule import record_check
from crosses.models import Plant
from crosses.queries.fertility import chance_of_cross, pair_model
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
    assert (there.tried.x, there.tried.n) == (5, 6)
    assert (back.tried.x, back.tried.n) == (0, 0)


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


def test_a_pair_that_took_stands_above_one_nobody_tried(tansy, smoke, signed_in):
    proven = make_plant(tansy, "Primula proven")
    tried(tansy, smoke, proven, flowers=14, took=13)
    # A pollen parent that never failed elsewhere, and strangers of whom nothing is known.
    better = make_plant(tansy, "Primula better")
    tried(tansy, make_plant(tansy, "Primula mother"), better, flowers=30, took=30)
    make_plant(tansy, "pink thing from a neighbour")
    found = partners_of(tansy, smoke, as_seed_parent=True, own_only=True)
    assert found[0].plant == proven
    assert [one.is_tried for one in found] == sorted((one.is_tried for one in found), reverse=True)
    page = signed_in(tansy).get(reverse("plant-partners", args=[smoke.number])).text
    assert page.index("<h2>Tried</h2>") < page.index("13 of 14") < page.index("Not tried yet</h2>")


@pytest.mark.parametrize(
    ("name", "facts", "words"),
    [
        ("Streptocarpus 'Oddwater Blue'", {}, "of two genera"),
        ("pink thing from a neighbour", {}, "genus of one of the two is not known"),
        ("Primula 'Oddwater Lemon'", {"ploidy": 4}, "sets of chromosomes"),
    ],
)
def test_what_cannot_be_reckoned_is_told_in_words(name, facts, words, tansy, signed_in):
    plant = make_plant(tansy, "Primula 'Quillfeather Smoke'", ploidy=2)
    mate = make_plant(tansy, "Primula mate")
    tried(tansy, plant, mate, flowers=10, took=9)
    other = make_plant(tansy, name, **facts)
    found = partner(tansy, plant, other)
    assert found.chance is None
    assert words in found.reasons[0]
    assert words in signed_in(tansy).get(reverse("plant-partners", args=[plant.number])).text
    cross = make_cross(tansy, seed_parent=plant, pollen_parent=other)
    assert chance_of_cross(pair_model(tansy), cross) is None


def test_parents_who_did_nothing_are_not_said_to_have_done_it(tansy, smoke):
    other = make_plant(tansy, "Primula new")
    tried(tansy, make_plant(tansy, "Primula a"), make_plant(tansy, "Primula b"), 9, 8)
    sentence = partner(tansy, smoke, other).chance.sentence
    assert "neither parent was tried in its role" in sentence
    assert "what each parent did" not in sentence
