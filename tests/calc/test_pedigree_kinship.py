"""Inbreeding and kinship against textbooks and against the plain definition."""

import numpy as np
import pytest
from hypothesis import given, settings

from crosses.calc.errors import BadInput
from crosses.calc.pedigree.graph import Parentage, Pedigree
from crosses.calc.pedigree.kinship import inbreeding, inbreeding_of, kinship, kinship_matrix
from crosses.calc.pedigree.lines import inbreeding_by_lines
from tests.calc.pedigrees import cross, kinship_cell_by_cell, pedigrees


def inbreeding_by_plant(rows):
    pedigree = Pedigree.build(rows)
    return dict(zip(pedigree.genotypes, inbreeding(pedigree).tolist(), strict=True))


def test_a_selfing_series_halves_what_is_not_yet_fixed():
    """Wright 1921; Falconer and Mackay, Introduction to Quantitative Genetics, chapter 5."""
    found = inbreeding_by_plant([Parentage(0), *(cross(n, n - 1, n - 1) for n in range(1, 5))])
    assert [found[n] for n in range(5)] == [0, 1 / 2, 3 / 4, 7 / 8, 15 / 16]


def test_a_full_sister_series_follows_the_printed_one():
    """Wright 1921; Falconer and Mackay, chapter 5: 0, 1/4, 3/8, 1/2, 19/32."""
    rows = [Parentage("a0"), Parentage("b0")]
    for n in range(1, 6):
        rows += [cross(f"{plant}{n}", f"a{n - 1}", f"b{n - 1}") for plant in "ab"]
    found = inbreeding_by_plant(rows)
    assert [found[f"a{n}"] for n in range(1, 6)] == [0, 1 / 4, 3 / 8, 1 / 2, 19 / 32]


def test_offspring_of_half_sisters_have_an_eighth():
    """Falconer and Mackay, chapter 5."""
    rows = [Parentage("common"), Parentage("x"), Parentage("y")]
    rows += [cross("h", "common", "x"), cross("k", "common", "y"), cross("offspring", "h", "k")]
    assert inbreeding_by_plant(rows)["offspring"] == 1 / 8


# Mrode, Linear Models for the Prediction of Animal Breeding Values, example 2.1 (Henderson 1976).
SIX = [
    Parentage(1), Parentage(2), cross(3, 1, 2), Parentage(4, 1), cross(5, 4, 3), cross(6, 5, 2),
]  # fmt: skip


def test_the_six_animals_have_their_printed_relationships():
    relationship = 2 * kinship_matrix(Pedigree.build(reversed(SIX)), [1, 2, 3, 4, 5, 6])
    assert np.diag(relationship).tolist() == [1, 1, 1, 1, 1.125, 1.125]
    assert relationship[4, 5] == 0.6875


def test_an_unknown_ancestor_makes_it_at_least():
    found = inbreeding_of(Pedigree.build(SIX), 6)
    assert (found.coefficient, found.is_at_least, found.known_share) == (0.125, True, 0.875)
    assert "at least 0.125" in found.sentence
    assert not inbreeding_of(Pedigree.build(SIX), 3).is_at_least


def test_two_half_known_plants_do_not_share_their_unknown_parents():
    rows = [
        Parentage("a"),
        Parentage("b"),
        Parentage("c", "a"),
        Parentage("d", "b"),
        cross("e", "c", "d"),
    ]
    assert inbreeding_by_plant(rows)["e"] == 0


def test_crossing_two_divisions_of_one_plant_is_a_selfing():
    rows = [
        Parentage("a"),
        Parentage("a1", clone_of="a"),
        Parentage("a2", clone_of="a1"),
        cross("s", "a1", "a2"),
    ]
    pedigree = Pedigree.build(rows)
    assert kinship(pedigree, "a1", "a2") == kinship(pedigree, "a", "a") == 0.5
    assert inbreeding_of(pedigree, "s").coefficient == 0.5


def test_back_to_a_pure_line_is_half_inbred_at_once():
    rows = [Parentage("line", stated_inbreeding=1), Parentage("other", stated_inbreeding=1)]
    found = inbreeding_by_plant([*rows, cross("f1", "line", "other"), cross("bc", "f1", "line")])
    assert (found["f1"], found["bc"]) == (0, 0.5)


def test_mixed_pollen_is_an_average_and_says_so():
    rows = [Parentage("a"), Parentage("b"), Parentage("m", "a", (("a", 0.25), ("b", 0.75)))]
    found = inbreeding_of(Pedigree.build(rows), "m")
    assert (found.coefficient, found.is_expected) == (0.125, True)
    assert "averaged over mixed pollen" in found.sentence


def test_a_plant_not_in_the_pedigree_is_refused():
    with pytest.raises(BadInput, match="N-99 is not in the pedigree"):
        kinship(Pedigree.build(SIX), 1, "N-99")


@settings(max_examples=60, deadline=None)
@given(pedigrees())
def test_every_way_of_reckoning_gives_what_the_definition_gives(rows):
    table = kinship_cell_by_cell(rows)
    pedigree = Pedigree.build(rows)
    expected = [2 * table[plant, plant] - 1 for plant in pedigree.genotypes]
    assert inbreeding(pedigree) == pytest.approx(expected, abs=1e-12)
    assert inbreeding_by_lines(pedigree) == pytest.approx(expected, abs=1e-12)
    assert kinship_matrix(pedigree, range(len(rows))) == pytest.approx(table, abs=1e-12)
    last = [len(rows) - 1, 0, len(rows) - 1]
    assert kinship_matrix(pedigree, last) == pytest.approx(table[np.ix_(last, last)], abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(pedigrees())
def test_kinship_is_symmetric_and_never_makes_a_negative_variance(rows):
    found = kinship_matrix(Pedigree.build(rows), range(len(rows)))
    assert (found == found.T).all()
    assert np.linalg.eigvalsh(found).min() > -1e-12
    assert ((found >= 0) & (found <= 1)).all()


def neighbours(width, generations, reach):
    """Plants in rings; each descends from two within reach, so that most pairs are unrelated."""
    draw = np.random.default_rng(5)
    rows = [Parentage(number) for number in range(width)]
    for number in range(width, width * generations):
        above = (number // width - 1) * width
        pollen = above + (number + int(draw.integers(reach))) % width
        rows.append(cross(number, above + number % width, pollen))
    return rows


# Few relatives; many relatives; few at first and many later.
@pytest.mark.parametrize("shape", [(900, 3, 3), (300, 12, 2), (280, 9, 280)])
def test_large_pedigrees_give_what_the_definition_gives(shape):
    rows = neighbours(*shape)
    table = kinship_cell_by_cell_fast(rows)
    pedigree = Pedigree.build(rows)
    found = inbreeding(pedigree)
    expected = 2 * np.diag(table) - 1
    assert [found[pedigree.place(n)] for n in range(len(rows))] == pytest.approx(
        expected, abs=1e-12
    )
    youngest = range(len(rows) - shape[0], len(rows))
    assert kinship_matrix(pedigree, youngest) == pytest.approx(
        table[youngest][:, youngest], abs=1e-12
    )


def test_a_table_that_empties_again_gives_what_the_definition_gives():
    """A related stock dies out and many unrelated plants are brought in."""
    rows = neighbours(300, 5, 300)
    fresh = [Parentage(number) for number in range(1500, 2700)]
    rows += [*fresh, *(cross(2700 + n, 1500 + n, 1800 + n) for n in range(300))]
    table = kinship_cell_by_cell_fast(rows)
    youngest = [*range(1200, 1260), *range(2700, 3000)]
    found = kinship_matrix(Pedigree.build(rows), youngest)
    assert found == pytest.approx(table[np.ix_(youngest, youngest)], abs=1e-12)


def kinship_cell_by_cell_fast(rows):
    """As in `kinship_cell_by_cell` for full pedigrees, a row at a time."""
    table = np.zeros((len(rows), len(rows)))
    for i, row in enumerate(rows):
        table[i, i] = 0.5
        if row.pollen:
            seed, pollen = row.seed_parent, row.pollen[0][0]
            table[i, :i] = table[:i, i] = (table[seed, :i] + table[pollen, :i]) / 2
            table[i, i] = (1 + table[seed, pollen]) / 2
    return table
