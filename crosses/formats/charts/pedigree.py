"""A pedigree as a tree, youngest at the left, seed parent above pollen parent."""

import itertools
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass

from crosses.calc.errors import BadInput
from crosses.formats.charts.drawing import (
    INK,
    PALE,
    Chart,
    add,
    sheet,
    shortened,
    write,
    written,
)

MOST_GENERATIONS = 6
COLUMN, ROW = 190, 26
MARGIN = 12
GAP = 32
UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class PedigreeNode:
    """A plant with what is known of its parents; None is a parent nobody knows."""

    label: str
    seed_parent: "PedigreeNode | None" = None
    pollen_parent: "PedigreeNode | None" = None


@dataclass(frozen=True, slots=True)
class _Placed:
    node: PedigreeNode | None
    generation: int
    role: str
    y: float
    parents_y: tuple[float, ...]


def pedigree_tree(key: str, title: str, plant: PedigreeNode) -> Chart:
    """Draw a plant and its ancestors, up to six generations with the plant itself.

    An ancestor reached by two ways stands in the tree twice. A parent not known is written as
    unknown, unless neither is: then the branch simply ends.
    """
    generations = _depth(plant)
    if generations > MOST_GENERATIONS:
        raise BadInput(f"A tree shows up to {MOST_GENERATIONS} generations.", field="plant")
    placed, leaves = _place(plant, 0, "the plant", 0)
    known = sum(one.node is not None for one in placed) - 1
    summary = (
        f"{plant.label}: {known} known ancestor{'' if known == 1 else 's'} in "
        f"{generations - 1} generation{'' if generations == 2 else 's'}. Each seed parent stands "
        "above its pollen parent."
    )
    height = 2 * MARGIN + ROW * (leaves + 1)
    picture = sheet(key, title, summary, width=2 * MARGIN + COLUMN * generations, height=height)
    for one in placed:
        _draw(picture, one)
    write(
        picture, MARGIN, height - MARGIN, "seed parent above (solid), pollen parent below (dashed)"
    )
    rows = tuple(
        (str(one.generation), one.role, one.node.label if one.node else UNKNOWN)
        for one in sorted(placed, key=lambda one: one.generation)
    )
    return Chart(written(picture), summary, ("Generations back", "Place", "Plant"), rows)


def _depth(plant: PedigreeNode) -> int:
    """Count generations, no further than is needed to refuse."""
    level, depth = [plant], 0
    while level and depth <= MOST_GENERATIONS:
        level = [parent for node in level for _, parent in _parents(node) if parent]
        depth += 1
    return depth


def _parents(node: PedigreeNode) -> Iterator[tuple[str, PedigreeNode | None]]:
    if node.seed_parent is None and node.pollen_parent is None:
        return
    yield "seed parent", node.seed_parent
    yield "pollen parent", node.pollen_parent


def _place(
    node: PedigreeNode | None, generation: int, role: str, top: int
) -> tuple[list[_Placed], int]:
    """Place a plant midway beside its parents; answer it, its ancestors, and the rows they took.

    The depth was checked before, so that this calls itself a few times at most.
    """
    parents = list(_parents(node)) if node else []
    if not parents:
        return [_Placed(node, generation, role, MARGIN + ROW * (top + 0.5), ())], 1
    branches: list[list[_Placed]] = []
    rows = 0
    for parent_role, parent in parents:
        where = parent_role if generation == 0 else f"{parent_role} of the {role}"
        branch, taken = _place(parent, generation + 1, where, top + rows)
        branches.append(branch)
        rows += taken
    parents_y = tuple(branch[0].y for branch in branches)
    own = _Placed(node, generation, role, sum(parents_y) / len(parents_y), parents_y)
    return [own, *itertools.chain.from_iterable(branches)], rows


def _draw(picture: ET.Element, one: _Placed) -> None:
    x = MARGIN + COLUMN * one.generation
    group = add(picture, "g", class_="chart-plant")
    add(
        group,
        "rect",
        x=x,
        y=one.y - 10,
        width=COLUMN - GAP,
        height=20,
        rx=4,
        fill="none",
        stroke=INK if one.node else PALE,
        stroke_dasharray="none" if one.node else "2 2",
        class_="chart-box",
    )
    words = one.node.label if one.node else UNKNOWN
    write(group, x + 6, one.y + 4, shortened(words, 22), ink=INK if one.node else PALE)
    for parent_y, dashes in zip(one.parents_y, ("none", "4 3"), strict=False):
        add(
            group,
            "path",
            d=f"M{x + COLUMN - GAP} {one.y:.2f}h{GAP / 2:.2f}V{parent_y:.2f}h{GAP / 2:.2f}",
            fill="none",
            stroke=INK,
            stroke_dasharray=dashes,
            class_="chart-descent",
        )
