"""Pedigrees for tests: a published tree, invented ones, and the table worked out cell by cell."""

from fractions import Fraction

import numpy as np
from hypothesis import strategies

from crosses.calc.pedigree.graph import Parentage, Pedigree


def cross(plant, seed, pollen):
    return Parentage(plant, seed, ((pollen, 1),))


def brapi_tree():
    """The thirteen plants of the BrAPI v2.1 documentation; seed parent (female) first."""
    founders = [Parentage(f"0{number}") for number in range(1, 5)]
    crosses = ["05 02 01", "06 02 01", "07 04 03", "08 04 03", "09 05 05", "10 07 06", "11 07 06",
               "12 10 09", "13 08 11"]  # fmt: skip
    return Pedigree.build([*founders, *(cross(*line.split()) for line in crosses)])


def parent_pairs(rows):
    for row in rows:
        if row.seed_parent is not None:
            yield row.seed_parent, row.plant
        for pollen, _ in row.pollen:
            yield pollen, row.plant


@strategies.composite
def pedigrees(draw, largest=14):
    """Rows in any order: founders, selfings, half-known plants, mixed pollen, no clones."""
    size = draw(strategies.integers(1, largest))
    rows = []
    for number in range(size):
        earlier = strategies.integers(0, number - 1) if number else strategies.nothing()
        kind = draw(strategies.integers(0, 4)) if number else 0
        seed = draw(earlier) if kind in {1, 2, 3} else None
        candidates = []
        if kind in {2, 3, 4}:
            candidates = draw(
                strategies.lists(earlier, min_size=1, max_size=min(3, number), unique=True)
            )
        whole = draw(strategies.sampled_from([len(candidates), len(candidates) + 1])) or 1
        rows.append(
            Parentage(
                number,
                seed,
                tuple((each, Fraction(1, whole)) for each in candidates),
                taxon=draw(strategies.sampled_from(["elatior", "veris", "vulgaris", None])),
                stated_inbreeding=draw(strategies.sampled_from([None, 0.25, 1.0]))
                if seed is None and not candidates
                else None,
                ploidy=draw(strategies.sampled_from([None, 2, 3, 4])),
            )
        )
    return draw(strategies.permutations(rows))


def kinship_cell_by_cell(rows):
    """Kinship of all plants by the definition, youngest by oldest; rows by their number."""
    rows = sorted(rows, key=lambda row: row.plant)
    table = np.zeros((len(rows), len(rows)))
    for i, row in enumerate(rows):
        for j in range(i):
            halves = [] if row.seed_parent is None else [(row.seed_parent, 0.5)]
            halves += [(pollen, float(share) / 2) for pollen, share in row.pollen]
            table[i, j] = table[j, i] = sum(half * table[parent, j] for parent, half in halves)
        inbred = row.stated_inbreeding or 0.0
        if row.seed_parent is not None:
            inbred = sum(
                float(share) * table[row.seed_parent, pollen] for pollen, share in row.pollen
            )
        table[i, i] = (1 + inbred) / 2
    return table
