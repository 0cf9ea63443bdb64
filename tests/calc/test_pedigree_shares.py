"""What a plant is made of, and what its generation is called."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings

from crosses.calc.pedigree.generations import generation_name
from crosses.calc.pedigree.graph import Parentage, Pedigree
from crosses.calc.pedigree.shares import (
    composition,
    composition_table,
    founder_share_table,
    founder_shares,
    known_share,
    written_share,
)
from tests.calc.pedigrees import cross, pedigrees

FOUNDERS = [
    Parentage("bul", taxon="bulleyana"), Parentage("bee", taxon="beesiana"), Parentage("jap", taxon="japonica"),
]  # fmt: skip


def built(*rows):
    return Pedigree.build([*FOUNDERS, *rows])


def test_three_eighths_are_written_as_three_eighths():
    pedigree = built(cross("f1", "bul", "bee"), cross("bc", "f1", "bul"), cross("x", "bc", "f1"))
    made_of = composition(pedigree, "x")
    assert made_of.shares == (("bulleyana", Fraction(5, 8)), ("beesiana", Fraction(3, 8)))
    assert made_of.sentence == "5/8 bulleyana, 3/8 beesiana (expected shares, not measured)."


def test_a_share_too_fine_to_read_is_rounded():
    assert written_share(Fraction(1, 64)) == "1/64"
    assert written_share(Fraction(1, 128)) == "about 0.8 %"
    assert written_share(Fraction(127, 128)) == "about 99 %"
    assert written_share(Fraction(1, 4096)) == "under 0.1 %"


def test_a_clone_is_all_its_source():
    pedigree = built(Parentage("division", clone_of="bul"))
    assert founder_shares(pedigree, "division") == {"bul": 1}


def test_an_unknown_parent_keeps_its_own_share():
    pedigree = built(Parentage("half", "bul"))
    assert composition(pedigree, "half").shares == (
        ("bulleyana", Fraction(1, 2)),
        (None, Fraction(1, 2)),
    )
    assert known_share(pedigree, "half") == Fraction(1, 2)


def test_a_gamete_counts_by_the_sets_it_carries():
    pedigree = Pedigree.build(
        [Parentage(1, ploidy=4), Parentage(2, ploidy=2), cross(3, 1, 2), cross(4, 2, 1)]
    )
    assert (
        founder_shares(pedigree, 3)
        == founder_shares(pedigree, 4)
        == {1: Fraction(2, 3), 2: Fraction(1, 3)}
    )


def test_half_of_a_taxon_through_two_plants_is_one_half():
    rows = [
        Parentage("bul2", taxon="bulleyana"),
        cross("c", "bul", "bee"),
        cross("d", "bul2", "jap"),
    ]
    assert composition(built(*rows, cross("e", "c", "d")), "e").shares[0] == (
        "bulleyana",
        Fraction(1, 2),
    )


@settings(max_examples=60, deadline=None)
@given(pedigrees())
def test_shares_add_up_to_exactly_one_and_the_tables_agree(rows):
    pedigree = Pedigree.build(rows)
    every = founder_share_table(pedigree)
    taxa = composition_table(pedigree)
    assert every.shares.sum(axis=1) == pytest.approx(np.ones(len(rows)))
    for plant, row, taxon_row in zip(
        every.plants, every.shares.toarray(), taxa.shares.toarray(), strict=True
    ):
        exact = founder_shares(pedigree, plant)
        assert sum(exact.values()) == 1
        assert row == pytest.approx([float(exact.get(each, 0)) for each in every.columns])
        made_of = dict(composition(pedigree, plant).shares)
        assert taxon_row == pytest.approx([float(made_of.get(each, 0)) for each in taxa.columns])


@settings(max_examples=60, deadline=None)
@given(pedigrees())
def test_a_few_plants_have_the_rows_they_have_in_the_whole_table(rows):
    pedigree = Pedigree.build(rows)
    asked = [len(rows) - 1, 0, len(rows) - 1]
    whole = founder_share_table(pedigree)
    few = founder_share_table(pedigree, asked)
    places = [whole.plants.index(plant) for plant in asked]
    assert few.shares.toarray() == pytest.approx(whole.shares.toarray()[places])


@pytest.mark.parametrize(
    ("rows", "name"),
    [
        ([cross("x", "bul", "bul")], "pure"),
        ([cross("x", "bee", "bul")], "F1"),
        ([cross("f1", "bul", "bee"), cross("x", "f1", "f1")], "F2"),
        (
            [
                cross("f1", "bul", "bee"),
                cross("g1", "bee", "bul"),
                cross("f2", "f1", "g1"),
                cross("x", "f2", "f2"),
            ],
            "F3",
        ),
        ([cross("f1", "bul", "bee"), cross("x", "bul", "f1")], "BC1"),
        ([cross("f1", "bul", "bee"), cross("bc", "f1", "bul"), cross("x", "bc", "bul")], "BC2"),
        ([cross("f1", "bul", "bee"), cross("bc", "f1", "bul"), cross("x", "bc", "bee")], ""),
        ([cross("f1", "bul", "bee"), cross("f2", "f1", "f1"), cross("x", "f1", "f2")], ""),
        ([cross("f1", "bul", "bee"), cross("f2", "f1", "f1"), cross("x", "f2", "bul")], ""),
        ([cross("f1", "bul", "bee"), cross("x", "f1", "jap")], ""),
        ([Parentage("x", "bul")], ""),
        ([Parentage("x")], ""),
        ([Parentage("x", "bul", (("bee", 0.5), ("jap", 0.5)))], ""),
        (
            [
                Parentage("bee2", taxon="beesiana"),
                Parentage("x", "bul", (("bee", 0.5), ("bee2", 0.5))),
            ],
            "F1",
        ),
        ([Parentage("bee2", clone_of="bee"), cross("x", "bul", "bee2")], "F1"),
    ],
)
def test_a_generation_has_its_name_or_none(rows, name):
    assert generation_name(built(*rows), "x").name == name


def test_a_backcross_says_to_what():
    pedigree = built(cross("f1", "bul", "bee"), cross("x", "f1", "bul"))
    assert generation_name(pedigree, "x").sentence == "BC1 of beesiana × bulleyana to bulleyana."
