"""What a plant's page says of its ancestors."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from crosses.access import plants_visible_to
from crosses.calc.pedigree.generations import Generation, generation_name
from crosses.calc.pedigree.graph import Parentage, Pedigree
from crosses.calc.pedigree.kinship import Inbreeding, Relation, inbreeding_of, relation_of
from crosses.calc.pedigree.lineage import ancestors
from crosses.calc.pedigree.shares import Composition, composition, founder_shares
from crosses.formats.charts import Chart, PedigreeNode, pedigree_tree
from crosses.models import Cross, Plant
from crosses.queries.pedigree import pedigree_above, rows_above

# With the plant itself; more does not fit a page.
GENERATIONS_DRAWN = 5
HIDDEN = "not shown to you"


@dataclass(frozen=True)
class Ancestor:
    """An ancestor in the list; the plant is None where the reader may not see it."""

    generations_back: int
    number: str
    plant: Plant | None


@dataclass(frozen=True)
class Founder:
    """A plant whose parents are not recorded, and its share of a descendant.

    The number is None for what comes from unknown parents; the plant also where the reader may
    not see it.
    """

    number: str | None
    plant: Plant | None
    share: Fraction


@dataclass(frozen=True)
class MadeOf:
    """What follows from a plant's ancestors, each with its sentence."""

    inbreeding: Inbreeding
    composition: Composition
    founders: tuple[Founder, ...]
    generation: Generation


@dataclass(frozen=True)
class CommonAncestor:
    """A plant above both of two, or one of the two above the other, which is 0 back from itself.

    The plant is None where the reader may not see it.
    """

    number: str
    plant: Plant | None
    back_from_first: int
    back_from_second: int


@dataclass(frozen=True)
class Closeness:
    """How close two plants are, and by whom, the nearest first."""

    relation: Relation
    common: tuple[CommonAncestor, ...]


@dataclass(frozen=True)
class Lineage:
    """A plant's ancestors and what follows from them."""

    made_of: MadeOf
    ancestors: tuple[Ancestor, ...]
    tree: Chart


def lineage_of(viewer: Any, plant: Plant) -> Lineage | None:
    """Reckon a plant's pedigree from all of its known ancestors, or None if it has none."""
    rows = {str(row.plant): row for row in rows_above([plant.number])}
    if len(rows) == 1:
        return None
    pedigree = Pedigree.build(rows.values())
    names = plants_visible_to(viewer).in_bulk(list(rows), field_name="number")
    return Lineage(
        made_of=_made_of(pedigree, plant.number, names),
        ancestors=_ancestors(pedigree, plant.number, names),
        tree=pedigree_tree(
            "pedigree",
            f"Pedigree of {plant.name_text}",
            _node(plant.number, rows, names, GENERATIONS_DRAWN),
        ),
    )


def made_of(viewer: Any, plant: Plant) -> MadeOf:
    """Reckon what a plant is made of; one without known parents is all itself."""
    pedigree = pedigree_above([plant.number])
    numbers = [str(number) for number in pedigree.place_of]
    names = plants_visible_to(viewer).in_bulk(numbers, field_name="number")
    return _made_of(pedigree, plant.number, names)


def relation_of_plants(first: Plant, second: Plant) -> Relation:
    """Say how close two plants are by all their known ancestors."""
    numbers = [first.number, second.number]
    return relation_of(pedigree_above(numbers), *numbers)


def closeness_of(viewer: Any, first: Plant, second: Plant) -> Closeness:
    """Say how close two plants are, and which ancestors they have in common."""
    relation = relation_of_plants(first, second)
    if relation.is_one_genotype or not relation.kinship:
        return Closeness(relation, ())
    pedigree = pedigree_above([first.number, second.number])
    above_first, above_second = (
        {_genotype(pedigree, plant.number): 0} | _generations_back(pedigree, plant.number)
        for plant in (first, second)
    )
    both = above_first.keys() & above_second.keys()
    names = plants_visible_to(viewer).in_bulk(list(both), field_name="number")
    common = (
        CommonAncestor(one, names.get(one), above_first[one], above_second[one]) for one in both
    )
    return Closeness(
        relation,
        tuple(
            sorted(
                common,
                key=lambda one: (one.back_from_first + one.back_from_second, one.number),
            )
        ),
    )


def relation_of_parents(cross: Cross) -> Relation | None:
    """Say how close a cross's parents are; None where the pollen is not of one known plant."""
    if cross.pollen == Cross.Pollen.SELF:
        return relation_of_plants(cross.seed_parent, cross.seed_parent)
    if cross.pollen_parent is None:
        return None
    return relation_of_plants(cross.seed_parent, cross.pollen_parent)


def _made_of(pedigree: Pedigree, number: str, names: Mapping[str, Plant]) -> MadeOf:
    founders = [
        Founder(None if one is None else str(one), names.get(str(one)), share)
        for one, share in founder_shares(pedigree, number).items()
    ]
    return MadeOf(
        inbreeding=inbreeding_of(pedigree, number),
        composition=composition(pedigree, number),
        founders=tuple(
            sorted(founders, key=lambda one: (one.number is None, -one.share, one.number or ""))
        ),
        generation=generation_name(pedigree, number),
    )


def _ancestors(pedigree: Pedigree, number: str, names: Mapping[str, Plant]) -> tuple[Ancestor, ...]:
    found = _generations_back(pedigree, number)
    return tuple(
        Ancestor(generation, one, names.get(one))
        for one, generation in sorted(found.items(), key=lambda item: (item[1], item[0]))
    )


def _generations_back(pedigree: Pedigree, number: str) -> dict[str, int]:
    """Return every ancestor with the nearest generation in which it stands."""
    found: dict[str, int] = {}
    back = 0
    while len(found) < len(above := ancestors(pedigree, number, back + 1)):
        back += 1
        found.update((str(one), back) for one in above if str(one) not in found)
    return found


def _genotype(pedigree: Pedigree, number: str) -> str:
    """Return the number of the plant that a division was made of, or the plant's own."""
    return str(pedigree.genotypes[pedigree.place(number)])


def _node(
    number: str, rows: Mapping[str, Parentage], names: Mapping[str, Plant], generations: int
) -> PedigreeNode:
    row = rows[number]
    label = names[number].name_text if number in names else HIDDEN
    while row.clone_of is not None:
        row = rows[str(row.clone_of)]
    if generations == 1:
        return PedigreeNode(label)
    seed = row.seed_parent
    return PedigreeNode(
        label,
        _node(str(seed), rows, names, generations - 1) if seed is not None else None,
        _pollen_node(row, rows, names, generations - 1),
    )


def _pollen_node(
    row: Parentage, rows: Mapping[str, Parentage], names: Mapping[str, Plant], generations: int
) -> PedigreeNode | None:
    if not row.pollen:
        return None
    givers = [str(giver) for giver, _share in row.pollen]
    if len(givers) == 1:
        return _node(givers[0], rows, names, generations)
    said = [names[giver].name_text if giver in names else HIDDEN for giver in givers]
    return PedigreeNode(f"one of {', '.join(said)}")
