"""Who stands above and below a plant."""

from collections.abc import Collection, Mapping

from crosses.calc.pedigree.graph import Pedigree, PlantId
from crosses.calc.pedigree.order import reach


def ancestors(
    pedigree: Pedigree, plant: PlantId, generations: int | None = None
) -> frozenset[PlantId]:
    """Every genotype a plant descends from, by the number of its source plant.

    Parameters
    ----------
    pedigree : Pedigree
        Who descends from whom.
    plant : plant number
        The plant whose ancestors are asked for.
    generations : int or None
        How far back to go; None for all the way. Every candidate of mixed pollen counts.

    Raises
    ------
    BadInput
        If the plant is not in the pedigree.

    """
    found = reach(*pedigree.parents(), pedigree.place(plant), generations)
    return frozenset(pedigree.genotypes[place] for place in found.tolist())


def descendants(
    pedigree: Pedigree, plant: PlantId, generations: int | None = None
) -> frozenset[PlantId]:
    """Every genotype that descends from a plant; see `ancestors`."""
    found = reach(pedigree.child_start, pedigree.children, pedigree.place(plant), generations)
    return frozenset(pedigree.genotypes[place] for place in found.tolist())


def generation_depth(pedigree: Pedigree, plant: PlantId) -> int:
    """Count the generations from a plant to its furthest founder; 0 for a founder."""
    return int(pedigree.depth[pedigree.place(plant)])


def would_make_loop(
    parents: Mapping[PlantId, Collection[PlantId]], child: PlantId, parent: PlantId
) -> tuple[PlantId, ...]:
    """Tell a form whether giving a plant this parent would make it its own ancestor.

    Parameters
    ----------
    parents : mapping
        Known parents of each plant; for a clone, the plant it was propagated from. Plants that
        are missing have no known parents.
    child : plant number
        The plant the form is about.
    parent : plant number
        The parent it would be given.

    Returns
    -------
    tuple of plant numbers
        The loop, from the child round to the child; empty if there is none.

    Examples
    --------
    >>> would_make_loop({"N-3": ["N-17"]}, "N-17", "N-3")
    ('N-17', 'N-3', 'N-17')
    >>> would_make_loop({"N-3": ["N-17"]}, "N-18", "N-3")
    ()

    """
    below: dict[PlantId, PlantId] = {parent: child}
    to_visit = [parent]
    while to_visit:
        plant = to_visit.pop()
        if plant == child:
            loop = [child]
            at = below[child]
            while at != child:
                loop.append(at)
                at = below[at]
            return (child, *reversed(loop[1:]), child)
        for above in parents.get(plant, ()):
            if above not in below:
                below[above] = plant
                to_visit.append(above)
    return ()
