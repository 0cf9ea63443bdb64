"""What a plant is made of: expected shares of its founders and of their taxa.

Expected shares, not measured ones: sisters of one cross can differ widely in what they carry.
Each parent passes half of itself, except where the ploidy of both is stated: then a parent counts
by the chromosome sets its gamete carries, so that 4x by 2x gives two thirds and one third.
"""

import heapq
from dataclasses import dataclass
from fractions import Fraction

from scipy.sparse import csr_array

from crosses.calc.pedigree.graph import NOBODY, WHOLE, Pedigree, PlantId

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
