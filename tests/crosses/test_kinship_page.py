"""How close two plants are: the number, the ancestors they share, and what is kept from whom."""

import pytest

from crosses.models import Cross
from crosses.queries.lineage import closeness_of
from tests.factories.crosses import make_cross, make_plant


@pytest.fixture
def mother(tansy):
    return make_plant(tansy, "Primula 'Oddwater Lemon'")


@pytest.fixture
def father(tansy):
    return make_plant(tansy, "Primula 'Quillfeather Smoke'")


def raised(grower, seed, pollen, name):
    cross = make_cross(grower, seed_parent=seed, pollen_parent=pollen)
    return make_plant(grower, name, origin="cross", raised_from=cross)


@pytest.fixture
def sisters(tansy, mother, father):
    return [raised(tansy, mother, father, name) for name in ("26-07-1", "26-07-2")]


def ask(client, plant, other):
    return client.get(f"/plants/{plant.number}/kinship/", {"other": other})


def test_full_sisters_are_told_with_both_parents(tansy, mother, father, sisters, signed_in):
    page = ask(signed_in(tansy), sisters[0], sisters[1].number).text
    # Falconer and Mackay, Introduction to Quantitative Genetics, ch. 5: full sibs, 1/4.
    assert "Kinship 0.250" in page
    for parent in (mother, father):
        assert f'/plants/{parent.number}/"' in page.split("in common")[1]


def test_a_parent_stands_no_generation_back_from_itself(tansy, mother, sisters):
    found = closeness_of(tansy, mother, sisters[0])
    assert found.relation.kinship == 0.25
    told = [(one.number, one.back_from_first, one.back_from_second) for one in found.common]
    assert told == [(mother.number, 0, 1)]


def test_a_division_of_the_parent_stands_for_the_parent(tansy, mother, sisters):
    division = make_plant(tansy, "Lemon, window", origin="division", propagated_from=mother)
    found = closeness_of(tansy, division, sisters[0])
    assert [(one.number, one.back_from_first) for one in found.common] == [(mother.number, 0)]


def test_two_divisions_are_told_as_one_genotype(tansy, mother, signed_in):
    divisions = [
        make_plant(tansy, f"Lemon {n}", origin="division", propagated_from=mother) for n in (1, 2)
    ]
    page = ask(signed_in(tansy), divisions[0], divisions[1].number).text
    assert "The two are divisions of one plant." in page
    assert "a cross of them is a selfing" in page
    assert "in common" not in page


def test_unrelated_plants_have_no_known_ancestor_in_common(tansy, mother, father, signed_in):
    page = ask(signed_in(tansy), mother, father.name_text).text
    assert "No common ancestor is known." in page
    assert "Kinship 0.000" in page


def test_an_ancestor_one_may_not_see_is_counted_and_not_named(tansy, cosmo, signed_in):
    secret = make_plant(tansy, "Primula 'Kept Close'", visibility="me")
    halves = [
        raised(tansy, make_plant(tansy, f"Primula {name}"), secret, name) for name in ("one", "two")
    ]
    page = ask(signed_in(cosmo), halves[0], halves[1].number).text
    assert "Kinship 0.125" in page
    assert "not shown to you" in page
    assert secret.number not in page
    assert "Kept Close" not in page


def test_an_unknown_pollen_parent_makes_it_at_least(tansy, mother, signed_in):
    cross = make_cross(tansy, seed_parent=mother, pollen=Cross.Pollen.OPEN)
    plant = make_plant(tansy, "26-09-1", origin="cross", raised_from=cross)
    assert "Kinship at least 0.250" in ask(signed_in(tansy), plant, mother.number).text


def test_what_is_no_plant_is_said_at_the_field_and_stays_typed(tansy, mother, signed_in):
    page = ask(signed_in(tansy), mother, "Primula 'Nobodys'").text
    assert "No plant is called" in page
    assert "Nobodys" in page
    assert "Kinship" not in page


def test_the_plants_page_asks_for_the_other(tansy, mother, signed_in):
    page = signed_in(tansy).get(f"/plants/{mother.number}/").text
    assert f'action="/plants/{mother.number}/kinship/"' in page
