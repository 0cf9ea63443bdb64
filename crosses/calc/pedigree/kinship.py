"""Kinship and inbreeding: the chance that two genes are copies of one ancestral gene.

The table of kinships among the plants still to be used as parents is carried down the pedigree,
one turn at a time, by ``B K B'``: each row of ``B`` is one half of the seed parent and one half of
the pollen parent. What a plant's parents have with each other is its inbreeding (Wright 1922,
The American Naturalist 56, 330-338; Malecot's kinship). It gives for every plant what the method
in `lines` gives, and is quicker where few plants of each generation become parents.

Everything here is the expectation for diploid inheritance; plants of other ploidy are treated as
if diploid.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array, diags_array, vstack

from crosses.calc.pedigree.graph import NOBODY, Floats, Pedigree, PlantId
from crosses.calc.pedigree.lines import inbreeding_by_lines
from crosses.calc.pedigree.order import reach
from crosses.calc.pedigree.shares import known_share, written_share
from crosses.calc.pedigree.sweep import Mask, Turn, ancestry, turns

# A table this small, or this full, is faster as a plain array than as a sparse one.
SMALL_TABLE = 256
FULL_TABLE = 0.1
# So many rows of a large table fit the cache of a processor core.
ROWS_AT_ONCE = 32
# Two plain tables of this many plants, the one carried from and the one carried to, take 800 MB.
LARGEST_PLAIN_TABLE = 7000

# Plants whose ancestors are counted to foresee the work.
SAMPLED = 30
# One step along a line of descent takes about as long as ten cells of a table (measured).
COST_OF_A_LINE = 10
# A full table that is too large to be held plain takes so much longer a cell (measured).
COST_OF_A_SPARSE_CELL = 10

Table = Floats | csr_array


@dataclass(frozen=True, slots=True)
class Inbreeding:
    """Inbreeding of one plant.

    Attributes
    ----------
    coefficient : float
        Chance that the plant's two genes at a place are copies of one ancestral gene, 0 to 1.
    is_at_least : bool
        True if an ancestor is unknown, so that the true value may be higher.
    is_expected : bool
        True if mixed pollen stands in the ancestry, so that the value is an average over the
        possible pollen parents.
    known_share : float
        Share of the ancestry that traces to known founders, 0 to 1.
    sentence : str

    """

    coefficient: float
    is_at_least: bool
    is_expected: bool
    known_share: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Relation:
    """How close two plants are.

    Attributes
    ----------
    kinship : float
        Chance that a gene drawn from each is a copy of one ancestral gene, 0 to 1: the inbreeding
        that their offspring would have.
    relationship : float
        Twice the kinship, the additive relationship of animal breeders.
    is_one_genotype : bool
        True if the two are one plant, or divisions of one: crossed they are selfed.
    is_at_least, is_expected : bool
        As in :class:`Inbreeding`, for the ancestors of either.
    sentence : str

    """

    kinship: float
    relationship: float
    is_one_genotype: bool
    is_at_least: bool
    is_expected: bool
    sentence: str


def inbreeding(pedigree: Pedigree) -> Floats:
    """Inbreeding of every genotype, in the order of ``pedigree.genotypes``.

    An unknown parent counts as a fresh, unrelated plant, so the values are lower bounds below one.
    Time and memory grow with the related pairs among plants still to be used as parents or, where
    that is less, with the ancestors each parent has.

    Examples
    --------
    >>> from crosses.calc.pedigree.graph import Parentage
    >>> rows = [Parentage(0)] + [Parentage(n, n - 1, ((n - 1, 1),)) for n in (1, 2, 3)]
    >>> inbreeding(Pedigree.build(rows)).tolist()
    [0.0, 0.5, 0.75, 0.875]

    """
    if _lines_are_less_work(pedigree):
        return inbreeding_by_lines(pedigree)
    nobody = np.zeros(len(pedigree.seed), bool)
    found, _ = _carry(pedigree, ~nobody, nobody)
    return found


def inbreeding_of(pedigree: Pedigree, plant: PlantId) -> Inbreeding:
    """Inbreeding of one plant with what a reader must know about it.

    Raises
    ------
    BadInput
        If the plant is not in the pedigree.

    """
    place = pedigree.place(plant)
    line = ancestry(pedigree, np.array([place]))
    found, _ = _carry(pedigree, line, np.zeros(len(line), bool))
    coefficient = float(found[place])
    known = known_share(pedigree, plant)
    at_least = known < 1
    expected = _has_mixed_pollen(pedigree, line)
    words = f"Inbreeding {'at least ' if at_least else ''}{coefficient:.3f}"
    ancestors = int(line.sum()) - 1
    words += f", from {ancestors} known ancestor{'' if ancestors == 1 else 's'}"
    if at_least:
        words += f"; {written_share(known)} of the ancestry is known"
    if expected:
        words += "; averaged over mixed pollen"
    return Inbreeding(coefficient, at_least, expected, float(known), words + ".")


def kinship(pedigree: Pedigree, first: PlantId, second: PlantId) -> float:
    """Chance that a gene drawn from each of two plants is a copy of one ancestral gene.

    It is the inbreeding their offspring would have. A plant with itself, or with a clone of
    itself, gives ``(1 + its inbreeding) / 2``.

    Raises
    ------
    BadInput
        If a plant is not in the pedigree.

    Examples
    --------
    >>> from crosses.calc.pedigree.graph import Parentage
    >>> cross = ("A", (("B", 1),))
    >>> sisters = Pedigree.build(
    ...     [Parentage("A"), Parentage("B"), Parentage("C", *cross), Parentage("D", *cross)])
    >>> kinship(sisters, "C", "D")
    0.25

    """
    return float(kinship_matrix(pedigree, [first, second])[0, 1])


def relation_of(pedigree: Pedigree, first: PlantId, second: PlantId) -> Relation:
    """Kinship of two plants with what a reader must know about it.

    Raises
    ------
    BadInput
        If a plant is not in the pedigree.

    Examples
    --------
    >>> from crosses.calc.pedigree.graph import Parentage
    >>> rows = [Parentage("A"), Parentage("B"), Parentage("C", "A", (("B", 1),))]
    >>> relation_of(Pedigree.build(rows), "A", "C").sentence
    'Kinship 0.250: seedlings of the two would have an inbreeding of 0.250.'

    """
    value = kinship(pedigree, first, second)
    places = np.array([pedigree.place(first), pedigree.place(second)])
    expected = _has_mixed_pollen(pedigree, ancestry(pedigree, places))
    at_least = any(known_share(pedigree, plant) < 1 for plant in (first, second))
    one_genotype = bool(places[0] == places[1])
    qualified = f"{'at least ' if at_least else ''}{value:.3f}"
    words = f"Kinship {qualified}: seedlings of the two would have an inbreeding of {qualified}"
    if one_genotype:
        words += "; they are one genotype, so a cross of them is a selfing"
    if at_least:
        words += "; ancestors are unknown"
    if expected:
        words += "; averaged over mixed pollen"
    return Relation(value, 2 * value, one_genotype, at_least, expected, words + ".")


def kinship_matrix(pedigree: Pedigree, plants: Sequence[PlantId]) -> Floats:
    """Kinship of every two of the plants, in the order given; clones may stand beside each other.

    Only the ancestors of the plants are gone through.

    Returns
    -------
    array of shape (len(plants), len(plants))
        Symmetric. Twice these values are the additive relationships of animal breeders.

    Raises
    ------
    BadInput
        If a plant is not in the pedigree.

    """
    asked = np.array([pedigree.place(plant) for plant in plants], np.int64)
    kept = np.zeros(len(pedigree.seed), bool)
    kept[asked] = True
    _, table = _carry(pedigree, ancestry(pedigree, asked), kept)
    plain = table if isinstance(table, np.ndarray) else table.toarray()
    # The kept plants stand in the table in the order in which they entered.
    row = np.searchsorted(np.flatnonzero(kept), asked)
    found = plain[np.ix_(row, row)]
    return (found + found.T) / 2


def _has_mixed_pollen(pedigree: Pedigree, line: Mask) -> bool:
    return bool((np.diff(pedigree.pollen_start)[line] > 1).any())


def _lines_are_less_work(pedigree: Pedigree) -> bool:
    """Whether lines of descent are shorter than the table of kinships would be."""
    nobody = np.zeros(len(pedigree.seed), bool)
    cells = sum(
        turn.held**2 * (COST_OF_A_SPARSE_CELL if turn.held > LARGEST_PLAIN_TABLE else 1)
        for turn in turns(pedigree, ~nobody, nobody)
    )
    start, run = pedigree.parents()
    some = np.linspace(0, len(nobody) - 1, min(len(nobody), SAMPLED)).astype(np.int64)
    ancestors = [len(reach(start, run, place)) for place in some.tolist()]
    return COST_OF_A_LINE * len(nobody) * float(np.mean(ancestors)) < cells


def _carry(pedigree: Pedigree, wanted: Mask, kept: Mask) -> tuple[Floats, Table]:
    """Inbreeding of the wanted plants, and the kinship table of the kept ones."""
    found = pedigree.stated_inbreeding.copy()
    table: Table = np.zeros((0, 0))
    for turn in turns(pedigree, wanted, kept):
        share = pedigree.pollen_weight[turn.pollen_entry]
        bred = turn.bred()
        found[turn.new[bred]] = _kinship_of_parents(table, turn, share)[bred]
        table = _next_table(table, turn, share, found[turn.new])
    return found, table


def _kinship_of_parents(table: Table, turn: Turn, share: Floats) -> Floats:
    """Kinship of the two parents of each new plant; 0 where one is unknown."""
    seed = turn.seed[turn.pollen_of]
    both = seed != NOBODY
    together = table[seed[both], turn.pollen[both]] * share[both]
    weights: Floats = np.asarray(together, np.float64)
    return np.bincount(turn.pollen_of[both], weights, len(turn.new)).astype(np.float64)


def _next_table(table: Table, turn: Turn, share: Floats, found: Floats) -> Table:
    """Kinship among the plants that stay and the plants that enter."""
    staying = csr_array(
        (np.ones(len(turn.stay)), (np.arange(len(turn.stay)), turn.stay)),
        shape=(len(turn.stay), turn.held),
    )
    carry = vstack([staying, turn.halves(share)[turn.enter]], format="csr")
    carried = _carried(carry, table)
    entered = np.arange(len(turn.stay), carry.shape[0])
    own = (1 + found[turn.enter]) / 2
    if isinstance(carried, np.ndarray):
        carried[entered, entered] = own
        return _in_fitting_form(carried)
    correction = np.zeros(carry.shape[0])
    correction[entered] = own - carried.diagonal()[entered]
    return _in_fitting_form(csr_array(carried + diags_array(correction)))


def _carried(carry: csr_array, table: Table) -> Table:
    """Carry both sides of a table over; a plain one a few rows at a time, which stay in cache."""
    if not isinstance(table, np.ndarray):
        return csr_array(carry @ (carry @ table).T)
    carried = np.empty((carry.shape[0], carry.shape[0]))
    for start in range(0, len(carried), ROWS_AT_ONCE):
        rows = carry[start : start + ROWS_AT_ONCE] @ table
        carried[start : start + ROWS_AT_ONCE] = (carry @ np.ascontiguousarray(rows.T)).T
    return carried


def _in_fitting_form(table: Table) -> Table:
    """Hold a small or full table plain and any other sparse; the values are the same."""
    size = table.shape[0]
    cells = max(size * size, 1)
    # A few rows of a plain table tell well enough how full it is.
    filled = np.count_nonzero(table[::16]) * 16 if isinstance(table, np.ndarray) else table.nnz
    plain = size <= SMALL_TABLE or (size <= LARGEST_PLAIN_TABLE and filled > FULL_TABLE * cells)
    if isinstance(table, np.ndarray):
        return table if plain else csr_array(table)
    return table.toarray() if plain else table
