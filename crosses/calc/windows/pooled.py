"""What the records of a whole genus teach about one capsule: its plant, its cross, its season.

The logarithm of the days is taken as a sum: the genus's mean, what the taxon, the seed parent, the
cross and the season add to it, and what differs from capsule to capsule. How much each of these
differs is not known beforehand and is averaged over, so that a single late spring is not taken for
a late plant, nor many records of past seasons for knowledge of the coming one.
"""

import math
from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from crosses.calc.grids import Floats, Grid
from crosses.calc.windows.belief import (
    Opening,
    Posterior,
    Source,
    Window,
    posterior,
    summed_up,
)

# How far means and capsules may differ: parts of the window's own spread, and of log days for a
# season, which moves all kinds alike.
GENUS = 0.55
TAXA = (0.12, 0.5)
PLANTS = (0.1, 0.3, 0.6)
CROSSES = (0.1, 0.35)
SEASONS = (0.02, 0.09, 0.18)
CAPSULES = (0.15, 0.25, 0.4, 0.6, 0.9)
# Of the capsules' own spread the book gives an idea, as `from_window` reads it.
CAPSULES_BY_THE_BOOK, DOUBT_OF_CAPSULES = 0.6, 0.5
# Records that share taxon, plant, cross and season make one; of more than so many groups those
# nearest to what is asked are read.
MOST_GROUPS = 80
_POINTS = 65
_FAR = 8.0
_LEAST_WEIGHT = 1e-3


@dataclass(frozen=True, slots=True)
class Place:
    """Where a capsule belongs; what is equal is the same taxon, plant, cross or season."""

    taxon: Hashable
    plant: Hashable
    cross: Hashable
    season: Hashable


@dataclass(frozen=True, slots=True)
class Record:
    """One capsule's opening; `own` tells it from others where it is to be left out of its own."""

    place: Place
    opening: Opening
    own: Hashable = None


@dataclass(frozen=True, eq=False)
class _Group:
    """Records of one place: their number, mean, scatter, and how far the looks lie apart."""

    place: Place
    own: Hashable
    number: int
    mean: float
    scatter: float
    blur: float


class Pool:
    """The records of a genus under one window, ready to be asked for any capsule of it."""

    def __init__(
        self, window: Window, records: Iterable[Record], near: Sequence[Place] = ()
    ) -> None:
        """Join a window with records; `near` are the places that will be asked for."""
        self.window = window
        self._book = posterior(window, [])
        self._spread = math.log(window.high_days / window.low_days) / 2.5631031310892007
        told = [
            each
            for each in records
            if each.opening.closed_until_days > 0 or each.opening.opened_by_days
        ]
        self._records = told
        self._groups = _nearest(_grouped(told, self._book.belief.centre, self._spread), near)
        if self._groups:
            self._learn()

    def of(self, place: Place, own: Hashable = None) -> Posterior:
        """Return what is known of a capsule's days, its own record left out."""
        sources = self._sources(place, own)
        if not sources:
            return self._book
        shared = self._shared(place)
        cov = np.einsum("hl,gl->hg", self._variances, shared)
        inverse = self._inverse
        at = next(
            (i for i, group in enumerate(self._groups) if own is not None and group.own == own),
            None,
        )
        projected = np.einsum("hij,hj->hi", inverse, cov)
        mean = np.einsum("hi,i->h", projected, self._residual)
        explained = np.einsum("hi,hi->h", projected, cov)
        if at is not None:
            # The same with one observation taken out of the inverse.
            column, corner = inverse[:, :, at], inverse[:, at, at]
            mean = mean - projected[:, at] * (column @ self._residual) / corner
            explained = explained - projected[:, at] ** 2 / corner
        left = np.maximum(self._variances.sum(axis=1) - explained, 0) + self._capsules**2
        grid = Grid(self._centre + mean, np.log(left) / 2, self._weight)
        # The spread of one capsule, for whoever narrows it further; the grid holds both together.
        belief = summed_up(grid)
        return Posterior(self.window, grid, belief, sources)

    def _learn(self) -> None:
        spread = self._spread
        settings = np.array(list(product(TAXA, PLANTS, CROSSES, SEASONS, CAPSULES)))
        scale = np.array([spread, spread, spread, 1.0, spread])
        scaled = settings * scale
        genus = np.full((len(scaled), 1), GENUS * spread)
        variances = np.hstack([genus, scaled[:, :4]]) ** 2
        capsules = scaled[:, 4]
        number = np.array([group.number for group in self._groups], float)
        mean = np.array([group.mean for group in self._groups])
        blur = np.array([group.blur for group in self._groups])
        scatter = np.array([group.scatter for group in self._groups])
        self._centre = self._book.belief.centre
        residual = mean - self._centre
        alike = np.stack([self._shared(group.place) for group in self._groups])
        single = capsules[:, None] ** 2 + blur
        cov = np.einsum("hl,ijl->hij", variances, alike)
        index = np.arange(len(number))
        cov[:, index, index] += single / number
        inverse = np.linalg.inv(cov)
        _sign, logdet = np.linalg.slogdet(cov)
        fit = -(logdet + np.einsum("i,hij,j->h", residual, inverse, residual)) / 2
        fit -= (((number - 1) * np.log(single)) + scatter / single).sum(axis=1) / 2
        by_the_book = np.log(settings[:, 4] / CAPSULES_BY_THE_BOOK) / DOUBT_OF_CAPSULES
        fit -= by_the_book**2 / 2
        weight = np.exp(fit - fit.max())
        matters = weight > _LEAST_WEIGHT
        self._weight = weight[matters] / weight[matters].sum()
        self._variances, self._capsules = variances[matters], capsules[matters]
        self._inverse, self._residual = inverse[matters], residual

    def _shared(self, place: Place) -> Floats:
        """For each group whether it shares genus, taxon, plant, cross and season with a place."""
        return np.array([_alike(place, group.place) for group in self._groups], float)

    def _sources(self, place: Place, own: Hashable) -> tuple[Source, ...]:
        """Count whose records spoke, broadest first; each is named at its narrowest level."""
        names = ("of the genus", "of the taxon", "of this seed parent", "of this cross")
        counts: dict[str, list[int]] = {name: [0, 0] for name in names}
        for each in self._records:
            if own is not None and each.own == own:
                continue
            _genus, taxon, plant, cross, _season = _alike(place, each.place)
            count = counts[names[taxon + taxon * plant + taxon * plant * cross]]
            count[0] += 1
            count[1] += each.opening.opened_by_days is not None
        return tuple(Source(name, *counts[name]) for name in names if counts[name][0])


def _alike(one: Place, other: Place) -> tuple[int, int, int, int, int]:
    return (
        1,
        int(one.taxon == other.taxon),
        int(one.plant == other.plant),
        int(one.cross == other.cross),
        int(one.season == other.season),
    )


def _grouped(records: Sequence[Record], centre: float, spread: float) -> list[_Group]:
    if not records:
        return []
    mean, blur = _as_days(records, centre, spread)
    opened = [i for i, each in enumerate(records) if each.opening.opened_by_days is not None]
    if opened:
        # Once more, about where the records lie and not the book.
        mean, blur = _as_days(records, float(np.median(mean[opened])), spread)
    members: dict[tuple[Place, Hashable], list[int]] = defaultdict(list)
    for index, each in enumerate(records):
        members[each.place, each.own].append(index)
    groups = []
    for (place, own), rows in members.items():
        trust = 1 / (blur[rows] + (spread / 2) ** 2)
        middle = float(np.average(mean[rows], weights=trust))
        scatter = float(((mean[rows] - middle) ** 2).sum())
        width = float(1 / trust.mean() - (spread / 2) ** 2)
        groups.append(_Group(place, own, len(rows), middle, scatter, max(width, 0.0)))
    return groups


def _as_days(records: Sequence[Record], centre: float, spread: float) -> tuple[Floats, Floats]:
    """Read each interval as a day with a doubt: the one that moves a normal law as it does."""
    with np.errstate(divide="ignore"):
        low = np.log([each.opening.closed_until_days for each in records])
        high = np.log([each.opening.opened_by_days or math.inf for each in records])
    start, stop = (low - centre) / spread, (high - centre) / spread
    start = np.maximum(start, np.minimum(stop, 0) - _FAR)
    stop = np.minimum(stop, np.maximum(start, 0) + _FAR)
    part = (np.arange(_POINTS) + 0.5) / _POINTS
    points = start[:, None] + (stop - start)[:, None] * part
    density = np.exp(-(points**2 - (points**2).min(axis=1, keepdims=True)) / 2)
    density /= density.sum(axis=1, keepdims=True)
    mean = (density * points).sum(axis=1)
    variance = (density * (points - mean[:, None]) ** 2).sum(axis=1)
    variance = np.clip(variance, 1e-6, 1 - 1e-3)
    precision = 1 / variance - 1
    return centre + spread * (mean / variance) / precision, spread**2 / precision


def _nearest(groups: list[_Group], near: Sequence[Place]) -> list[_Group]:
    if len(groups) <= MOST_GROUPS:
        return groups

    def nearness(group: _Group) -> tuple[bool, int, int]:
        best = max((sum(_alike(place, group.place)) for place in set(near)), default=0)
        # What is left out of its own forecast teaches little of the others.
        return group.own is not None, -best, -group.number

    return sorted(groups, key=nearness)[:MOST_GROUPS]
