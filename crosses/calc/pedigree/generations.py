"""Names of generations: F1, F2, BC1 and so on, where such a name is due.

The F of a generation name has nothing to do with inbreeding: an F2 raised from one F1 plant has an
inbreeding of one half.
"""

from dataclasses import dataclass

import numpy as np

from crosses.calc.pedigree.graph import NOBODY, Pedigree, PlantId
from crosses.calc.pedigree.shares import composition
from crosses.calc.pedigree.sweep import ancestry


@dataclass(frozen=True, slots=True)
class Generation:
    """Name of a plant's generation.

    Attributes
    ----------
    name : str
        "pure", "F1", "F2", "BC1" ...; empty where no such name is due.
    sentence : str
        The name with the taxa it refers to, or the shares that say more than a name could.

    """

    name: str
    sentence: str


@dataclass(frozen=True, slots=True)
class _Standing:
    """Where a plant stands between taxa: pure, filial (F) or backcross (BC)."""

    kind: str
    number: int
    taxa: frozenset[str]
    recurrent: str = ""


def generation_name(pedigree: Pedigree, plant: PlantId) -> Generation:
    """Name the generation of a plant.

    Two pure taxa give F1; Fn selfed or Fn with Fn of the same two taxa gives F(n+1); F1 with one
    of the two pure taxa gives BC1, and BCn with the same taxon again BC(n+1). The direction of a
    cross makes no difference. Anything else, and anything with an unknown parent, has no name.

    Raises
    ------
    BadInput
        If the plant is not in the pedigree.

    Examples
    --------
    >>> from crosses.calc.pedigree.graph import Parentage
    >>> pedigree = Pedigree.build([
    ...     Parentage(1, taxon="Primula bulleyana"), Parentage(2, taxon="Primula beesiana"),
    ...     Parentage(3, 1, ((2, 1),)), Parentage(4, 3, ((3, 1),)), Parentage(5, 3, ((2, 1),))])
    >>> [generation_name(pedigree, plant).name for plant in (2, 3, 4, 5)]
    ['pure', 'F1', 'F2', 'BC1']
    >>> generation_name(pedigree, 5).sentence
    'BC1 of Primula beesiana × Primula bulleyana to Primula beesiana.'

    """
    place = pedigree.place(plant)
    standings: dict[int, _Standing | None] = {}
    for each in np.flatnonzero(ancestry(pedigree, np.array([place]))).tolist():
        standings[each] = _standing(pedigree, each, standings)
    standing = standings[place]
    if standing is None:
        return Generation("", f"No generation name is due: {composition(pedigree, plant).sentence}")
    pair = " × ".join(sorted(standing.taxa))
    if standing.kind == "pure":
        return Generation("pure", f"Pure {pair}.")
    name = f"{standing.kind}{standing.number}"
    back = f" to {standing.recurrent}" if standing.recurrent else ""
    return Generation(name, f"{name} of {pair}{back}.")


def _standing(
    pedigree: Pedigree, place: int, standings: dict[int, _Standing | None]
) -> _Standing | None:
    seed = int(pedigree.seed[place])
    span = slice(int(pedigree.pollen_start[place]), int(pedigree.pollen_start[place + 1]))
    pollen = pedigree.pollen[span].tolist()
    if seed == NOBODY and not pollen:
        taxon = pedigree.taxa[place]
        return _Standing("pure", 0, frozenset([taxon])) if taxon else None
    if seed == NOBODY or sum(pedigree.pollen_shares[span]) < 1:
        return None
    # Mixed pollen allows a name only if every possible pollen parent gives the same.
    of_pollen = {standings[each] for each in pollen}
    first, second = standings[seed], of_pollen.pop()
    if of_pollen or first is None or second is None:
        return None
    return _of_cross(first, second)


def _of_cross(first: _Standing, second: _Standing) -> _Standing | None:
    if first.kind == second.kind == "pure":
        taxa = first.taxa | second.taxa
        return first if len(taxa) == 1 else _Standing("F", 1, taxa)
    if first == second and first.kind == "F":
        return _Standing("F", first.number + 1, first.taxa)
    hybrid, pure = (second, first) if first.kind == "pure" else (first, second)
    if pure.kind != "pure" or not pure.taxa < hybrid.taxa:
        return None
    (recurrent,) = pure.taxa
    if hybrid.kind == "F" and hybrid.number == 1:
        return _Standing("BC", 1, hybrid.taxa, recurrent)
    if hybrid.kind == "BC" and hybrid.recurrent == recurrent:
        return _Standing("BC", hybrid.number + 1, hybrid.taxa, recurrent)
    return None
