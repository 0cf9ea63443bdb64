"""One pass down a pedigree that holds only the plants still to be used as parents.

Kinship and shares are both carried from parents to children. Neither needs all plants at once: a
plant can be let go when its last child has entered, so the tables stay as small as a society's
working stock however many seedlings it has raised.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from crosses.calc.pedigree.graph import NOBODY, Floats, Pedigree
from crosses.calc.pedigree.order import Integers, places, reach

Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Turn:
    """What one turn of the sweep brings; all positions are rows of the table held so far.

    Attributes
    ----------
    held : int
        Plants in the table before the turn.
    new : places in the pedigree of the plants that enter
    seed : position of the seed parent of each new plant, -1 if unknown
    pollen_of, pollen : for each possible pollen parent, the new plant's number within the turn and
        the parent's position
    pollen_entry : place of each in the pedigree's own list of pollen
    stay : positions that remain in the table
    enter : numbers within the turn of the new plants that join the table

    """

    held: int
    new: Integers
    seed: Integers
    pollen_of: Integers
    pollen: Integers
    pollen_entry: Integers
    stay: Integers
    enter: Integers

    def from_parents(self, seed_weight: Floats, pollen_weight: Floats) -> csr_array:
        """Matrix that takes the table's rows to the new plants' rows.

        Parameters
        ----------
        seed_weight : floats
            What each new plant takes from its seed parent.
        pollen_weight : floats
            What each entry of `pollen` passes on.

        """
        known = np.flatnonzero(self.seed != NOBODY)
        rows = np.concatenate([known, self.pollen_of])
        columns = np.concatenate([self.seed[known], self.pollen])
        weights = np.concatenate([seed_weight[known], pollen_weight])
        return csr_array((weights, (rows, columns)), shape=(len(self.new), self.held))

    def halves(self, share: Floats) -> csr_array:
        """Matrix as above with one half from each parent, the pollen half by its shares."""
        return self.from_parents(np.full(len(self.new), 0.5), share / 2)

    def bred(self) -> Mask:
        """Whether at least one parent of each new plant is known."""
        by_pollen: Mask = np.bincount(self.pollen_of, minlength=len(self.new)) > 0
        by_seed: Mask = self.seed != NOBODY
        return by_seed | by_pollen


def ancestry(pedigree: Pedigree, roots: Integers) -> Mask:
    """Mark the given places and all their ancestors."""
    start, run = pedigree.parents()
    marked = np.zeros(len(pedigree.seed), bool)
    # The youngest first: many of the others are then its ancestors.
    for root in np.unique(roots)[::-1].tolist():
        if not marked[root]:
            marked[root] = True
            marked[reach(start, run, root)] = True
    return marked


def turns(pedigree: Pedigree, wanted: Mask, kept: Mask) -> Iterator[Turn]:
    """Walk down the wanted plants; those kept are still in the table at the end.

    Parameters
    ----------
    pedigree : Pedigree
        Who descends from whom.
    wanted : booleans, one a genotype
        Must hold the parents of whatever it holds.
    kept : booleans, one a genotype
        Plants that must not be let go.

    """
    count = len(pedigree.turn_start) - 1
    last_use = _last_use(pedigree, wanted)
    last_use[kept] = count
    position = np.full(len(pedigree.seed), NOBODY)
    held = np.zeros(0, np.int64)
    for number in range(count):
        new = np.arange(pedigree.turn_start[number], pedigree.turn_start[number + 1])
        new = new[wanted[new]]
        entry = places(pedigree.pollen_start, new)
        pollen_of = np.repeat(np.arange(len(new)), np.diff(pedigree.pollen_start)[new])
        seed = pedigree.seed[new]
        stay = np.flatnonzero(last_use[held] > number)
        enter = np.flatnonzero(last_use[new] > number)
        yield Turn(
            held=len(held),
            new=new,
            seed=np.where(seed == NOBODY, NOBODY, position[seed]),
            pollen_of=pollen_of,
            pollen=position[pedigree.pollen[entry]],
            pollen_entry=entry,
            stay=stay,
            enter=enter,
        )
        held = np.concatenate([held[stay], new[enter]])
        position[held] = np.arange(len(held))


def _last_use(pedigree: Pedigree, wanted: Mask) -> Integers:
    """Turn on which the last wanted child of each plant enters; -1 if it has none."""
    turn = np.repeat(np.arange(len(pedigree.turn_start) - 1), np.diff(pedigree.turn_start))
    last_use = np.full(len(turn), NOBODY)
    parent = np.repeat(np.arange(len(turn)), np.diff(pedigree.child_start))
    child_turn = np.where(wanted[pedigree.children], turn[pedigree.children], NOBODY)
    np.maximum.at(last_use, parent, child_turn)
    return last_use
