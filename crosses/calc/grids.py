"""Weights over two unknowns on a grid of midpoints: averages without anything left to chance."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Range = tuple[float, float]

# What lies this far below the peak weighs less than 1e-13 of it.
NEGLIGIBLE = 30.0
MOST_ROUNDS = 12


@dataclass(frozen=True, eq=False)
class Grid:
    """Points that matter, with weights that add up to 1; three arrays of one length."""

    first: Floats
    second: Floats
    weight: Floats


def zoomed(
    log_density: Callable[[Floats, Floats], Floats], first: Range, second: Range, points: int
) -> Grid:
    """Lay a grid over the part of two ranges where a density with one peak is not negligible.

    Parameters
    ----------
    log_density : function
        Takes two arrays of one shape, returns the logarithm of the density up to a constant.
    first : (float, float)
        Ends of the first unknown's range.
    second : (float, float)
        Ends of the second unknown's range.
    points : int
        On each side of the grid.

    Examples
    --------
    >>> grid = zoomed(lambda x, y: -((x - 3) ** 2) / 2 - y**2 / 0.02, (-50, 50), (-50, 50), 45)
    >>> round(float((grid.weight * grid.first).sum()), 6)
    3.0

    """
    for _ in range(MOST_ROUNDS):
        x, y = _midpoints(first, points), _midpoints(second, points)
        at = np.meshgrid(x, y, indexing="ij")
        value = log_density(*at)
        matters = value > value.max() - NEGLIGIBLE
        closer_first = _narrowed(first, matters.any(axis=1))
        closer_second = _narrowed(second, matters.any(axis=0))
        if closer_first == first and closer_second == second:
            break
        first, second = closer_first, closer_second
    weight = np.exp(value[matters] - value.max())
    return Grid(at[0][matters], at[1][matters], weight / weight.sum())


def _midpoints(ends: Range, points: int) -> Floats:
    low, high = ends
    return low + (high - low) * (np.arange(points) + 0.5) / points


def _narrowed(ends: Range, matters: NDArray[np.bool_]) -> Range:
    """Cut a range to the cells that matter and one more at each side, if that gains a tenth."""
    low, high = ends
    points = len(matters)
    cell = (high - low) / points
    cells = np.flatnonzero(matters)
    start, stop = max(int(cells[0]) - 1, 0), min(int(cells[-1]) + 2, points)
    if stop - start > points * 9 // 10:
        return ends
    return low + start * cell, low + stop * cell
