"""A society's pedigree as arrays, parents before their children."""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from crosses.calc.errors import BadInput
from crosses.calc.pedigree.order import Integers, grouped, waves

PlantId = Hashable
Floats = NDArray[np.float64]
Stated = TypeVar("Stated")

NOBODY = -1
NOT_LISTED = -2
WHOLE = Fraction(1)


@dataclass(frozen=True, slots=True)
class Parentage:
    """What is known of where one plant comes from.

    Attributes
    ----------
    plant : hashable
        The plant's number; what a person reads in a refusal is ``str`` of it.
    seed_parent : hashable or None
        None if unknown.
    pollen : tuple of (plant, share)
        Each possible pollen parent with its share of the pollen. Shares may add up to less than
        one: the rest is unknown pollen. Empty if the pollen parent is unknown.
    clone_of : hashable or None
        The plant this one was propagated from by division or cutting: the same genotype.
    taxon : str or None
        Of a founder: the taxon it belongs to.
    stated_inbreeding : float or None
        Of a founder: its inbreeding from 0 to 1 if known; a pure line is 1.
    ploidy : int or None
        Number of chromosome sets in the plant.

    """

    plant: PlantId
    seed_parent: PlantId | None = None
    pollen: tuple[tuple[PlantId, Fraction | float], ...] = ()
    clone_of: PlantId | None = None
    taxon: str | None = None
    stated_inbreeding: float | None = None
    ploidy: int | None = None


@dataclass(frozen=True, eq=False)
class Pedigree:
    """Genotypes in an order in which every parent stands before its children.

    Clones are followed to their source first, so a genotype is one place in the arrays however
    many plants carry it. Places are gathered into turns: the parents of a plant always entered on
    an earlier turn, and a founder enters on the turn before its first child.

    Attributes
    ----------
    genotypes : tuple of plant numbers
        The source plant of each genotype.
    place_of : mapping from every plant number, clones included, to a place
    seed : integers, one a genotype
        Place of the seed parent, -1 if unknown.
    pollen_start, pollen : integers
        Possible pollen parents of place ``i`` are ``pollen[pollen_start[i]:pollen_start[i + 1]]``.
    pollen_shares : tuple of Fraction, in step with ``pollen``
    pollen_weight : the same shares as floats
    child_start, children : integers, grouped like the pollen
    turn_start : integers
        Turn ``t`` is the places from ``turn_start[t]`` to ``turn_start[t + 1]``.
    depth : integers
        Generations from the furthest founder; 0 for a founder.
    taxa, stated_inbreeding, ploidy : one a genotype
        Inbreeding is 0 and ploidy 0 where nothing is stated.

    """

    genotypes: tuple[PlantId, ...]
    place_of: Mapping[PlantId, int]
    seed: Integers
    pollen_start: Integers
    pollen: Integers
    pollen_shares: tuple[Fraction, ...]
    pollen_weight: Floats
    child_start: Integers
    children: Integers
    turn_start: Integers
    depth: Integers
    taxa: tuple[str | None, ...]
    stated_inbreeding: Floats
    ploidy: Integers

    @classmethod
    def build(cls, rows: Iterable[Parentage]) -> "Pedigree":
        """Put rows of any order into a pedigree.

        Time grows in step with the number of rows. A loop is refused by name, whether it runs
        through seed parents, pollen parents or clones.

        Raises
        ------
        BadInput
            If a plant stands twice, a parent is not among the rows, a plant would be its own
            ancestor, a clone also has parents, or a share, inbreeding or ploidy cannot be.

        Examples
        --------
        >>> pedigree = Pedigree.build([
        ...     Parentage("N-3", "Smoke", (("Lemon", 1),)),
        ...     Parentage("Smoke"), Parentage("Lemon"), Parentage("Smoke-2", clone_of="Smoke"),
        ... ])
        >>> len(pedigree.genotypes), pedigree.place("Smoke") == pedigree.place("Smoke-2")
        (3, True)

        """
        listed = tuple(rows)
        row_of = _rows_by_number(listed)
        _refuse_impossible(listed)
        links = _links(listed, row_of)
        _refuse_loop(listed, links)
        source = _sources(links.clone)
        return _in_order(listed, row_of, links, source)

    def place(self, plant: PlantId) -> int:
        """Place of a plant's genotype in the arrays.

        Raises
        ------
        BadInput
            If the plant is not in the pedigree.

        """
        try:
            return self.place_of[plant]
        except KeyError:
            raise BadInput(f"{plant} is not in the pedigree.", field="plant") from None

    def is_founder(self) -> NDArray[np.bool_]:
        """Whether neither parent of each genotype is known."""
        founder: NDArray[np.bool_] = (self.seed == NOBODY) & (np.diff(self.pollen_start) == 0)
        return founder

    def parents(self) -> tuple[Integers, Integers]:
        """Places of every known (or possible) parent, grouped by child: start and run."""
        child = np.arange(len(self.seed))
        known = self.seed != NOBODY
        of_pollen = np.repeat(child, np.diff(self.pollen_start))
        return grouped(
            np.concatenate([child[known], of_pollen]),
            np.concatenate([self.seed[known], self.pollen]),
            len(child),
        )


@dataclass(frozen=True, eq=False)
class _Links:
    seed: Integers
    pollen_of: Integers
    pollen: Integers
    pollen_shares: tuple[Fraction, ...]
    clone: Integers


def _rows_by_number(rows: Sequence[Parentage]) -> dict[PlantId, int]:
    row_of = {row.plant: at for at, row in enumerate(rows)}
    if len(row_of) == len(rows):
        return row_of
    twice = next(row.plant for at, row in enumerate(rows) if row_of[row.plant] != at)
    raise BadInput(f"{twice} stands in the pedigree twice.", field="plant")


def _refuse_impossible(rows: Sequence[Parentage]) -> None:
    for row in rows:
        if row.clone_of is not None and (row.seed_parent is not None or row.pollen):
            raise BadInput(
                f"{row.plant} was propagated from {row.clone_of}: it cannot have parents too.",
                field="clone_of",
            )
        if row.stated_inbreeding is not None:
            _refuse_stated_inbreeding(row)
        if row.ploidy is not None and row.ploidy < 1:
            raise BadInput(f"{row.plant}: a plant has one chromosome set or more.", field="ploidy")


def _refuse_stated_inbreeding(row: Parentage) -> None:
    if row.seed_parent is not None or row.pollen:
        raise BadInput(
            f"{row.plant} has parents: its inbreeding follows from them and cannot be stated.",
            field="stated_inbreeding",
        )
    if not 0 <= (row.stated_inbreeding or 0) <= 1:
        raise BadInput(f"{row.plant}: inbreeding lies between 0 and 1.", field="stated_inbreeding")


def _exact_shares(row: Parentage) -> tuple[Fraction, ...]:
    if len(row.pollen) == 1 and row.pollen[0][1] == 1:
        return (WHOLE,)
    # A third typed as 0.3333 stands for a third; pollen is not mixed to the thousandth.
    shares = tuple(
        share if isinstance(share, Fraction) else Fraction(share).limit_denominator(1000)
        for _, share in row.pollen
    )
    if any(share <= 0 for share in shares) or sum(shares) > 1:
        raise BadInput(
            f"{row.plant}: shares of mixed pollen are above 0 and add up to 1 at most.",
            field="pollen",
        )
    if len({plant for plant, _ in row.pollen}) < len(row.pollen):
        raise BadInput(f"{row.plant}: a pollen parent is listed twice.", field="pollen")
    return shares


def _links(rows: Sequence[Parentage], row_of: Mapping[PlantId, int]) -> _Links:
    seed = _look_up([row.seed_parent for row in rows], row_of)
    clone = _look_up([row.clone_of for row in rows], row_of)
    pollen_of = np.repeat(np.arange(len(rows)), [len(row.pollen) for row in rows])
    pollen = _look_up([plant for row in rows for plant, _ in row.pollen], row_of)
    owners = np.arange(len(rows))
    for found, owner, field in (
        (seed, owners, "seed_parent"), (pollen, pollen_of, "pollen"), (clone, owners, "clone_of"),
    ):  # fmt: skip
        missing = np.flatnonzero(found == NOT_LISTED)
        if missing.size:
            plant = rows[int(owner[missing[0]])].plant
            raise BadInput(
                f"{plant} names a plant that is not in the pedigree ({field.replace('_', ' ')}).",
                field=field,
            )
    shares = tuple(share for row in rows if row.pollen for share in _exact_shares(row))
    return _Links(seed, pollen_of, pollen, shares, clone)


def _look_up(plants: Sequence[PlantId | None], row_of: Mapping[PlantId, int]) -> Integers:
    return np.fromiter(
        (NOBODY if plant is None else row_of.get(plant, NOT_LISTED) for plant in plants),
        np.int64,
        len(plants),
    )


def _refuse_loop(rows: Sequence[Parentage], links: _Links) -> None:
    child = np.arange(len(rows))
    bred, cloned = links.seed != NOBODY, links.clone != NOBODY
    children = np.concatenate([child[bred], links.pollen_of, child[cloned]])
    parents = np.concatenate([links.seed[bred], links.pollen, links.clone[cloned]])
    stuck = waves(children, parents, len(rows)) == NOBODY
    if not stuck.any():
        return
    # Every stuck plant has a stuck parent, so walking up must come round.
    held = stuck[children] & stuck[parents]
    upward = dict(zip(children[held].tolist(), parents[held].tolist(), strict=True))
    path = [next(iter(upward))]
    stood_at = {path[0]: 0}
    while (above := upward[path[-1]]) not in stood_at:
        stood_at[above] = len(path)
        path.append(above)
    loop = [rows[at].plant for at in [*path[stood_at[above] :], above]]
    raise BadInput(
        f"{loop[0]} would be its own ancestor: {' -> '.join(str(plant) for plant in loop)}.",
        field="plant",
    )


def _sources(clone: Integers) -> Integers:
    """Row of the plant each row was first propagated from, itself if it is no clone."""
    source = np.where(clone == NOBODY, np.arange(len(clone)), clone)
    while not np.array_equal(further := source[source], source):
        source = further
    return source


def _agreed(
    rows: Sequence[Parentage], source: Integers, name: str, stated: Sequence[Stated | None]
) -> list[Stated | None]:
    """Bring what was stated of a clone to its genotype; refuse if clones contradict each other."""
    agreed = list(stated)
    for at in np.flatnonzero(source != np.arange(len(rows))).tolist():
        said, home = stated[at], int(source[at])
        if said is None:
            continue
        if agreed[home] is not None and agreed[home] != said:
            raise BadInput(
                f"{rows[at].plant} and {rows[home].plant} are one genotype but differ in "
                f"{name.replace('_', ' ')}: {said} and {agreed[home]}.",
                field=name,
            )
        agreed[home] = said
    return agreed


def _in_order(
    rows: Sequence[Parentage], row_of: Mapping[PlantId, int], links: _Links, source: Integers
) -> Pedigree:
    kept = np.flatnonzero(links.clone == NOBODY)
    bred = np.flatnonzero(links.seed != NOBODY)
    child = np.concatenate([bred, links.pollen_of])
    parent = source[np.concatenate([links.seed[bred], links.pollen])]
    depth = waves(child, parent, len(rows))
    turn = _turns(depth, child, parent)
    order = kept[np.argsort(turn[kept], kind="stable")]
    place = np.full(len(rows), NOBODY)
    place[order] = np.arange(len(order))
    place = place[source]

    seed = np.where(links.seed == NOBODY, NOBODY, place[links.seed])[order]
    pollen_start, at = grouped(place[links.pollen_of], np.arange(len(links.pollen)), len(order))
    child_start, children = grouped(place[parent], place[child], len(order))
    shares = tuple(links.pollen_shares[entry] for entry in at.tolist())
    taxa = _agreed(rows, source, "taxon", [row.taxon for row in rows])
    inbreeding = _agreed(rows, source, "stated_inbreeding", [row.stated_inbreeding for row in rows])
    ploidy = _agreed(rows, source, "ploidy", [row.ploidy for row in rows])
    places_of_rows = place.tolist()
    return Pedigree(
        genotypes=tuple(rows[row].plant for row in order.tolist()),
        place_of={plant: places_of_rows[row] for plant, row in row_of.items()},
        seed=seed,
        pollen_start=pollen_start,
        pollen=place[links.pollen[at]],
        pollen_shares=shares,
        pollen_weight=np.array([1.0 if each is WHOLE else float(each) for each in shares]),
        child_start=child_start,
        children=children,
        turn_start=np.searchsorted(turn[order], np.arange(int(turn[order].max(initial=0)) + 2)),
        depth=depth[order],
        taxa=tuple(taxa[row] for row in order.tolist()),
        stated_inbreeding=np.array([inbreeding[row] or 0.0 for row in order.tolist()], float),
        ploidy=np.array([ploidy[row] or 0 for row in order.tolist()], np.int64),
    )


def _turns(depth: Integers, child: Integers, parent: Integers) -> Integers:
    """Turn on which each row enters: its depth, but a founder waits for its first child."""
    first_child = np.full(len(depth), np.iinfo(np.int64).max)
    np.minimum.at(first_child, parent, depth[child])
    waits = (depth == 0) & (first_child < np.iinfo(np.int64).max)
    return np.where(waits, first_child - 1, depth)
