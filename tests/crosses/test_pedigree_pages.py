"""What a plant's page says of its ancestors, and what the reckoning is given."""

from fractions import Fraction

from django.urls import reverse

from crosses.calc.pedigree.kinship import kinship
from crosses.calc.pedigree.shares import founder_shares
from crosses.models import Cross
from crosses.queries.lineage import HIDDEN, lineage_of
from crosses.queries.pedigree import pedigree_above, society_pedigree
from tests.factories.crosses import TaxonFactory, make_cross, make_plant


def raised(grower, cross, name="N-1", **facts):
    return make_plant(grower, name, origin="cross", raised_from=cross, **facts)


def bulleyana_and_beesiana(grower):
    seed = make_plant(grower, "Primula bulleyana", taxon=TaxonFactory(species="bulleyana"))
    pollen = make_plant(grower, "Primula beesiana", taxon=TaxonFactory(species="beesiana"))
    return seed, pollen


def test_a_first_generation_hybrid_is_half_of_each(tansy):
    seed, pollen = bulleyana_and_beesiana(tansy)
    plant = raised(tansy, make_cross(tansy, seed_parent=seed, pollen_parent=pollen))
    lineage = lineage_of(tansy, plant)
    assert lineage.made_of.generation.name == "F1"
    assert "1/2 Primula bulleyana" in lineage.made_of.composition.sentence
    assert [(one.generations_back, one.number) for one in lineage.ancestors] == [
        (1, seed.number),
        (1, pollen.number),
    ]


def test_an_unknown_pollen_parent_makes_inbreeding_a_lower_bound(tansy):
    plant = raised(tansy, make_cross(tansy, pollen=Cross.Pollen.OPEN))
    assert "at least" in lineage_of(tansy, plant).made_of.inbreeding.sentence


def test_a_selfing_halves_what_was_mixed(tansy):
    founder = make_plant(tansy)
    plant = raised(tansy, make_cross(tansy, seed_parent=founder, pollen=Cross.Pollen.SELF))
    # Falconer and Mackay, Introduction to Quantitative Genetics, ch. 5: one selfing gives F = 1/2.
    assert "0.500" in lineage_of(tansy, plant).made_of.inbreeding.sentence


def test_two_divisions_of_one_plant_crossed_are_a_selfing(tansy):
    founder = make_plant(tansy)
    division = make_plant(tansy, "Primula division", origin="division", propagated_from=founder)
    plant = raised(tansy, make_cross(tansy, seed_parent=founder, pollen_parent=division))
    assert "0.500" in lineage_of(tansy, plant).made_of.inbreeding.sentence


def test_mixed_pollen_is_shared_by_its_parts(tansy):
    first, second = make_plant(tansy, "Primula one"), make_plant(tansy, "Primula two")
    cross = make_cross(tansy, pollen=Cross.Pollen.MIXED, mixture=[(first, 2), (second, 1)])
    plant = raised(tansy, cross)
    shares = founder_shares(society_pedigree(), plant.number)
    assert shares[first.number] == Fraction(1, 3)
    assert shares[second.number] == Fraction(1, 6)
    assert sum(shares.values()) == 1


def test_a_division_whose_entry_differs_from_its_source_stops_nothing(tansy):
    founder = make_plant(tansy, taxon=TaxonFactory(species="veris"))
    make_plant(
        tansy,
        "Primula elatior?",
        origin="division",
        propagated_from=founder,
        taxon=TaxonFactory(species="elatior"),
    )
    assert len(society_pedigree().genotypes) == 1


def test_the_pedigree_above_a_plant_holds_its_ancestors_and_nobody_else(tansy):
    seed, pollen = bulleyana_and_beesiana(tansy)
    plant = raised(tansy, make_cross(tansy, seed_parent=seed, pollen_parent=pollen))
    make_plant(tansy, "Primula elsewhere")
    assert pedigree_above([plant.number]).place_of.keys() == {
        plant.number,
        seed.number,
        pollen.number,
    }


def test_sisters_are_related_by_a_quarter(tansy):
    cross = make_cross(tansy)
    sisters = [raised(tansy, cross, name).number for name in ("N-1", "N-2")]
    assert kinship(society_pedigree(), *sisters) == 0.25


def test_the_whole_society_is_loaded_in_three_queries(tansy, django_assert_num_queries):
    for number in range(3):
        raised(tansy, make_cross(tansy), f"N-{number}")
    with django_assert_num_queries(3):
        society_pedigree()


def test_a_hidden_ancestor_is_not_named_to_another(tansy, cosmo, signed_in):
    secret = make_plant(tansy, "Primula secret", visibility="me")
    plant = raised(tansy, make_cross(tansy, seed_parent=secret))
    lineage = lineage_of(cosmo, plant)
    assert HIDDEN in lineage.tree.svg
    page = signed_in(cosmo).get(reverse("plant-detail", args=[plant.number])).content.decode()
    assert "secret" not in page
    assert (
        "secret"
        in signed_in(tansy).get(reverse("plant-detail", args=[plant.number])).content.decode()
    )


def test_the_page_of_a_cross_says_how_close_its_parents_are(tansy, signed_in):
    cross = make_cross(tansy)
    sisters = [raised(tansy, cross, f"N-{number}") for number in (1, 2)]
    again = make_cross(tansy, seed_parent=sisters[0], pollen_parent=sisters[1])
    page = signed_in(tansy).get(reverse("cross-detail", args=[again.number])).content.decode()
    # Falconer and Mackay, ch. 5: full sibs have a kinship of 1/4.
    assert "Kinship 0.250: seedlings of the two would have an inbreeding of 0.250." in page
