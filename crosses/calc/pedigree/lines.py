"""Inbreeding by lines of descent, for pedigrees in which most plants stay in use as parents.

The method of Meuwissen and Luo (1992), Genetics Selection Evolution 24, 305-313: a plant's row
holds the chance that a gene came down to it from each ancestor, and each ancestor adds the part of
its own kinship that its parents do not explain. Rows of parents are kept only while they are used.
"""

import numpy as np
from scipy.sparse import csr_array, vstack

from crosses.calc.pedigree.graph import NOBODY, Floats, Pedigree
from crosses.calc.pedigree.sweep import Turn, turns

# Entries of two sparse rows multiplied at one time: about 200 MB.
ENTRIES_AT_A_TIME = 8_000_000


def inbreeding_by_lines(pedigree: Pedigree) -> Floats:
    """Inbreeding of every genotype; time and memory grow with the ancestors each parent has."""
    size = len(pedigree.seed)
    everyone = np.ones(size, bool)
    found = pedigree.stated_inbreeding.copy()
    unexplained = np.zeros(size)
    lines = csr_array((0, size))
    for turn in turns(pedigree, everyone, ~everyone):
        share = pedigree.pollen_weight[turn.pollen_entry]
        bred = turn.bred()
        found[turn.new[bred]] = _kinship_of_parents(lines, unexplained, turn, share)[bred]
        entering = turn.new[turn.enter]
        handed_down = csr_array(turn.halves(share)[turn.enter] @ lines)
        explained = handed_down.multiply(handed_down) @ unexplained
        unexplained[entering] = (1 + found[entering]) / 2 - explained
        itself = csr_array(
            (np.ones(len(entering)), (np.arange(len(entering)), entering)), handed_down.shape
        )
        lines = vstack([lines[turn.stay], handed_down + itself], format="csr")
    return found


def _kinship_of_parents(lines: csr_array, unexplained: Floats, turn: Turn, share: Floats) -> Floats:
    """Kinship of the two parents of each new plant, reckoned once for each pair."""
    seed = turn.seed[turn.pollen_of]
    both = seed != NOBODY
    pairs, pair_of = np.unique(
        np.stack([seed[both], turn.pollen[both]]), axis=1, return_inverse=True
    )
    together = np.zeros(pairs.shape[1])
    step = max(1, ENTRIES_AT_A_TIME * max(turn.held, 1) // max(lines.nnz, 1))
    for start in range(0, len(together), step):
        first, second = pairs[:, start : start + step]
        together[start : start + step] = lines[first].multiply(lines[second]) @ unexplained
    return np.bincount(turn.pollen_of[both], together[pair_of] * share[both], len(turn.new)).astype(
        np.float64
    )
