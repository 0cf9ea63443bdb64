"""Ordering of a parent-child graph held in integer arrays, one wave of plants at a time."""

import numpy as np
from numpy.typing import NDArray

Integers = NDArray[np.int64]


def grouped(keys: Integers, values: Integers, size: int) -> tuple[Integers, Integers]:
    """Gather the values of equal keys into runs.

    Returns
    -------
    start, run : arrays of length ``size + 1`` and ``len(values)``
        The values of key ``k`` are ``run[start[k]:start[k + 1]]``, in the order given.

    Examples
    --------
    >>> start, run = grouped(np.array([1, 0, 1]), np.array([7, 8, 9]), 2)
    >>> start.tolist(), run.tolist()
    ([0, 1, 3], [8, 7, 9])

    """
    start = np.zeros(size + 1, np.int64)
    np.cumsum(np.bincount(keys, minlength=size), out=start[1:])
    return start, values[np.argsort(keys, kind="stable")]


def places(start: Integers, nodes: Integers) -> Integers:
    """Places in a grouped run that belong to the given nodes, node by node.

    Examples
    --------
    >>> places(np.array([0, 1, 3, 3]), np.array([1, 0])).tolist()
    [1, 2, 0]

    """
    counts = start[nodes + 1] - start[nodes]
    before = np.cumsum(counts) - counts
    return np.repeat(start[nodes] - before, counts) + np.arange(int(counts.sum()))


def waves(child: Integers, parent: Integers, size: int) -> Integers:
    """Longest way from a founder to each node; -1 for a node on or below a loop.

    Parameters
    ----------
    child, parent : integer arrays of one length
        One entry for each known link; a pair may stand twice (a selfing).
    size : int
        Number of nodes.

    Examples
    --------
    >>> waves(np.array([2, 2, 3]), np.array([0, 1, 2]), 4).tolist()
    [0, 0, 1, 2]

    """
    start, children = grouped(parent, child, size)
    waiting = np.bincount(child, minlength=size)
    wave = np.full(size, -1, np.int64)
    now = np.flatnonzero(waiting == 0)
    number = 0
    while now.size:
        wave[now] = number
        reached = children[places(start, now)]
        np.subtract.at(waiting, reached, 1)
        now = np.unique(reached[waiting[reached] == 0])
        number += 1
    return wave


def reach(start: Integers, run: Integers, origin: int, steps: int | None = None) -> Integers:
    """Every node that can be reached from one by up to ``steps`` links, itself left out."""
    seen = np.zeros(len(start) - 1, bool)
    seen[origin] = True
    now = np.array([origin], np.int64)
    taken = 0
    while now.size and (steps is None or taken < steps):
        ahead = np.unique(run[places(start, now)])
        now = ahead[~seen[ahead]]
        seen[now] = True
        taken += 1
    seen[origin] = False
    return np.flatnonzero(seen)
