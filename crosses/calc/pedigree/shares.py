"""What a plant is made of: expected shares of its founders and of their taxa.

Expected shares, not measured ones: sisters of one cross can differ widely in what they carry.
Each parent passes half of itself, except where the ploidy of both is stated: then a parent counts
by the chromosome sets its gamete carries, so that 4x by 2x gives two thirds and one third.
"""

import heapq
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from scipy.sparse import csr_array, vstack

from crosses.calc.pedigree.graph import NOBODY, WHOLE, Floats, Pedigree, PlantId
from crosses.calc.pedigree.order import Integers
from crosses.calc.pedigree.sweep import Turn, ancestry, turns

HALF = Fraction(1, 2)
# A share with a larger denominator says more as a percentage.
LARGEST_DENOMINATOR = 64
EXPECTED = "expected shares, not measured"


@dataclass(frozen=True, slots=True)
class Composition:
    """Taxa a plant is made of, largest share first, what is unknown last.

    Attributes
    ----------
    shares : tuple of (taxon or None, Fraction)
        None is what comes from unknown parents and from founders without a taxon. They add up to
        exactly 1.
    sentence : str

    """

    shares: tuple[tuple[str | None, Fraction], ...]
    sentence: str


@dataclass(frozen=True, eq=False)
class ShareTable:
    """Shares of many plants at once.

    Attributes
    ----------
    plants : tuple of plant numbers, one a row
    columns : tuple of founders' numbers or of taxa; the last is None, what is unknown
    shares : sparse array of floats, each row adding up to 1

    """

    plants: tuple[PlantId, ...]
    columns: tuple[PlantId | None, ...]
    shares: csr_array


def written_share(share: Fraction) -> str:
    """Write a share as a fraction where that can be read, and else as a rounded percentage.

    >>> written_share(Fraction(3, 8)), written_share(Fraction(1, 128)), written_share(Fraction(1))
    ('3/8', 'about 0.8 %', 'all')
    """
    if share == 1:
        return "all"
    if share.denominator <= LARGEST_DENOMINATOR:
        return str(share)
    percent = float(share) * 100
    if percent < 0.1:
        return "under 0.1 %"
    return f"about {percent:.0f} %" if percent >= 1 else f"about {percent:.1f} %"


def founder_shares(pedigree: Pedigree, plant: PlantId) -> dict[PlantId | None, Fraction]:
    """Exact share of each founder in a plant; None is what comes from unknown parents.

    The shares add up to exactly 1. A founder, and a clone of one, is all itself.

    Raises
    ------
    BadInput
        If the plant is not in the pedigree.

    Examples
    --------
    >>> from crosses.calc.pedigree.graph import Parentage
    >>> pedigree = Pedigree.build([
    ...     Parentage("A", ploidy=4), Parentage("B", ploidy=2), Parentage("C", "A", (("B", 1),))])
    >>> {founder: str(share) for founder, share in founder_shares(pedigree, "C").items()}
    {'B': '1/3', 'A': '2/3'}

    """
    found: dict[PlantId | None, Fraction] = {}
    carried = {pedigree.place(plant): WHOLE}
    # The youngest first: by then all its children have handed up their share of it.
    waiting = [-place for place in carried]
    while waiting:
        place = -heapq.heappop(waiting)
        share = carried.pop(place)
        parents = _weighted_parents(pedigree, place)
        if not parents:
            found[pedigree.genotypes[place]] = share
            continue
        unknown = share * (1 - sum(weight for _, weight in parents))
        if unknown:
            found[None] = found.get(None, Fraction(0)) + unknown
        for parent, weight in parents:
            if parent not in carried:
                heapq.heappush(waiting, -parent)
            carried[parent] = carried.get(parent, Fraction(0)) + share * weight
    return found


def known_share(pedigree: Pedigree, plant: PlantId) -> Fraction:
    """Share of a plant that traces to known founders.

    Raises
    ------
    BadInput
        If the plant is not in the pedigree.

    """
    return 1 - founder_shares(pedigree, plant).get(None, Fraction(0))


def composition(pedigree: Pedigree, plant: PlantId) -> Composition:
    """Exact share of each taxon in a plant.

    Raises
    ------
    BadInput
        If the plant is not in the pedigree.

    """
    by_taxon: dict[str | None, Fraction] = {}
    for founder, share in founder_shares(pedigree, plant).items():
        taxon = None if founder is None else pedigree.taxa[pedigree.place(founder)]
        by_taxon[taxon] = by_taxon.get(taxon, Fraction(0)) + share
    shares = sorted(by_taxon.items(), key=lambda item: (item[0] is None, -item[1], item[0] or ""))
    said = ", ".join(f"{written_share(share)} {taxon or 'unknown'}" for taxon, share in shares)
    return Composition(tuple(shares), f"{said} ({EXPECTED}).")


def founder_share_table(pedigree: Pedigree, plants: Sequence[PlantId] | None = None) -> ShareTable:
    """Share of every founder in the given plants, or in every genotype.

    Raises
    ------
    BadInput
        If a plant is not in the pedigree.

    """
    founders = np.flatnonzero(pedigree.is_founder())
    column = np.full(len(pedigree.seed), NOBODY)
    column[founders] = np.arange(len(founders))
    names = tuple(pedigree.genotypes[place] for place in founders.tolist())
    return _table(pedigree, plants, column, (*names, None))


def composition_table(pedigree: Pedigree, plants: Sequence[PlantId] | None = None) -> ShareTable:
    """Share of every taxon in the given plants, or in every genotype.

    Raises
    ------
    BadInput
        If a plant is not in the pedigree.

    """
    founders = np.flatnonzero(pedigree.is_founder()).tolist()
    taxa = sorted({taxon for place in founders if (taxon := pedigree.taxa[place]) is not None})
    column_of: dict[str | None, int] = {taxon: at for at, taxon in enumerate(taxa)}
    column = np.full(len(pedigree.seed), NOBODY)
    column[founders] = [column_of.get(pedigree.taxa[place], len(taxa)) for place in founders]
    return _table(pedigree, plants, column, (*taxa, None))


def _weighted_parents(pedigree: Pedigree, place: int) -> list[tuple[int, Fraction]]:
    """Known parents of one genotype, each with the exact share it passes on."""
    seed = int(pedigree.seed[place])
    parents = []
    passed_by_seed = HALF
    for entry in range(int(pedigree.pollen_start[place]), int(pedigree.pollen_start[place + 1])):
        pollen = int(pedigree.pollen[entry])
        of_pollen = HALF
        if seed != NOBODY and (sets := pedigree.ploidy[[seed, pollen]].tolist()) and all(sets):
            of_pollen = Fraction(sets[1], sum(sets))
        share = pedigree.pollen_shares[entry]
        passed_by_seed += share * (HALF - of_pollen)
        parents.append((pollen, share * of_pollen))
    if seed != NOBODY:
        parents.append((seed, passed_by_seed))
    return parents


def _weights(pedigree: Pedigree) -> tuple[Floats, Floats]:
    """Give the share passed on by each seed parent and each pollen parent: as above, in arrays."""
    share = pedigree.pollen_weight
    child = np.repeat(np.arange(len(pedigree.seed)), np.diff(pedigree.pollen_start))
    seed = pedigree.seed[child]
    sets_of_seed = np.where(seed == NOBODY, 0, pedigree.ploidy[seed])
    sets_of_pollen = pedigree.ploidy[pedigree.pollen]
    stated = (sets_of_seed > 0) & (sets_of_pollen > 0)
    together = np.where(stated, sets_of_seed + sets_of_pollen, 2)
    of_pollen = np.divide(np.where(stated, sets_of_pollen, 1), together, dtype=np.float64)
    moved = np.bincount(child, weights=share * (0.5 - of_pollen), minlength=len(pedigree.seed))
    return (0.5 + moved).astype(np.float64), share * of_pollen


def _table(
    pedigree: Pedigree,
    plants: Sequence[PlantId] | None,
    column: Integers,
    columns: tuple[PlantId | None, ...],
) -> ShareTable:
    everyone = np.arange(len(pedigree.seed))
    asked = everyone if plants is None else np.array([pedigree.place(each) for each in plants])
    kept = np.zeros(len(everyone), bool)
    wanted = ~kept if plants is None else ancestry(pedigree, asked)
    kept[asked] = plants is not None
    seed_weight, pollen_weight = _weights(pedigree)
    held = csr_array((0, len(columns)))
    entered = []
    for turn in turns(pedigree, wanted, kept):
        new = _new_rows(turn, held, column[turn.new], seed_weight, pollen_weight)
        held = vstack([held[turn.stay], new[turn.enter]], format="csr")
        if plants is None:
            entered.append(new)
    if plants is None:
        return ShareTable(pedigree.genotypes, columns, vstack(entered, format="csr"))
    row = np.searchsorted(np.flatnonzero(kept), asked)
    return ShareTable(tuple(plants), columns, held[row])


def _new_rows(
    turn: Turn, held: csr_array, column: Integers, seed_weight: Floats, pollen_weight: Floats
) -> csr_array:
    """Rows of the plants that enter: what their parents pass on, founders, and the unknown rest."""
    seed_part = seed_weight[turn.new]
    pollen_part = pollen_weight[turn.pollen_entry]
    rows = turn.from_parents(seed_part, pollen_part) @ held
    known = np.where(turn.seed == NOBODY, 0, seed_part)
    known = known + np.bincount(turn.pollen_of, weights=pollen_part, minlength=len(turn.new))
    founder = np.flatnonzero(column != NOBODY)
    rest = np.flatnonzero((column == NOBODY) & (known < 1 - 1e-12))
    values = np.concatenate([np.ones(len(founder)), 1 - known[rest]])
    at_row = np.concatenate([founder, rest])
    at_column = np.concatenate([column[founder], np.full(len(rest), held.shape[1] - 1)])
    return csr_array(rows + csr_array((values, (at_row, at_column)), shape=rows.shape))
