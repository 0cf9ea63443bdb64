"""Counts from sowings whose true shares differ: the beta-binomial law.

Each sowing has a share of its own, drawn about a mean ``mu``; ``rho``, between 0 and 1, is the
correlation of two seeds of one sowing. With ``theta = rho / (1 - rho)`` the likelihood of x of n is
a product over ``j`` of ``(mu + j theta)``, ``(1 - mu + j theta)`` and ``1 / (1 + j theta)``, which
holds at rho 0 too, where it is the binomial law.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit

from crosses.calc.errors import BadInput
from crosses.calc.rates import wilson

Floats = NDArray[np.float64]

# rho above 0.999: each sowing all or nothing.
HIGHEST_THETA = 1000.0
HIGHEST_ROOT_RHO = 0.999**0.5
# Each closer look at the likeliest scatter is among so many, between the neighbours of the last
# best: four looks find the root of rho to a few parts in a hundred thousand, and no more is asked
# of a scatter of which only the likelihood is used.
SCATTERS_TRIED = 40
TIMES_CLOSER = 4
# A mean closer than this to none or all cannot be told from it by any count.
FURTHEST_LOGIT = 30.0


@dataclass(frozen=True, slots=True, eq=False)
class Tally:
    """Counts of several sowings, laid out so that the likelihood costs no more for more of them.

    Attributes
    ----------
    sowings, came, sown : int
        Number of sowings with seed in them, seedlings and seeds in all.
    came_above, failed_above, sown_above : array of float, shape (most seeds in a sowing,)
        At j, the number of sowings with more than j seedlings, failures, seeds.

    """

    sowings: int
    came: int
    sown: int
    came_above: Floats
    failed_above: Floats
    sown_above: Floats


@dataclass(frozen=True, slots=True)
class CommonScatter:
    """Likeliest mean of each group of sowings with one scatter for all of them."""

    means: tuple[float, ...]
    rho: float
    log_likelihood: float


def tally(sowings: Sequence[tuple[int, int]]) -> Tally:
    """Count up sowings, leaving out those with no seed.

    Parameters
    ----------
    sowings : sequence of (came, sown)
        Seedlings and seeds of each sowing.

    Raises
    ------
    BadInput
        If a count cannot be, or there is no seed at all.

    """
    shares = [wilson(came, sown) for came, sown in sowings if sown != 0]
    if not shares:
        raise BadInput("There are no seeds to reckon with.", field="sowings")
    came = np.array([share.x for share in shares])
    sown = np.array([share.n for share in shares])
    most = int(sown.max())
    return Tally(
        len(shares),
        int(came.sum()),
        int(sown.sum()),
        _above(came, most),
        _above(sown - came, most),
        _above(sown, most),
    )


def log_likelihood(means: Floats, thetas: Floats, counted: Tally) -> Floats:
    """Log-likelihood at each mean and scatter, without the part that depends on neither.

    Parameters
    ----------
    means, thetas : array of float, one shape
        Means between 0 and 1, both ends left out; scatters not negative.
    counted : Tally
        From :func:`tally`.

    """
    value: Floats = np.zeros(means.shape)
    for j in range(len(counted.sown_above)):
        value += (
            _times_log(counted.came_above[j], means + j * thetas)
            + _times_log(counted.failed_above[j], 1 - means + j * thetas)
            - counted.sown_above[j] * np.log1p(j * thetas)
        )
    return value


def fit_common_scatter(groups: Sequence[Tally]) -> CommonScatter:
    """Fit a mean to each group and one scatter to all, by maximum likelihood.

    Parameters
    ----------
    groups : sequence of Tally
        One or more.

    """
    starts = [
        np.array([*(_start_logit(group) for group in groups), theta]) for theta in (0.01, 0.3)
    ]
    bounds = [(-FURTHEST_LOGIT, FURTHEST_LOGIT)] * len(groups) + [(0.0, HIGHEST_THETA)]
    best = min((_descend(groups, start, bounds) for start in starts), key=lambda found: found[1])
    parameters, cost = best
    theta = float(parameters[-1])
    means = tuple(float(mean) for mean in expit(parameters[:-1]))
    return CommonScatter(means, theta / (1 + theta), -cost)


def fit_scatter_at(mean: float, counted: Tally) -> CommonScatter:
    """Fit the scatter of one group whose mean is held.

    Parameters
    ----------
    mean : float
        Between 0 and 1, both ends left out.
    counted : Tally
        From :func:`tally`.

    """
    low, high, points = 0.0, HIGHEST_ROOT_RHO, SCATTERS_TRIED
    for _ in range(TIMES_CLOSER):
        roots = np.linspace(low, high, points)
        thetas = roots**2 / (1 - roots**2)
        values = log_likelihoods_at(mean, thetas, counted)
        best = int(values.argmax())
        low, high = roots[max(best - 1, 0)], roots[min(best + 1, points - 1)]
    rho = float(roots[best] ** 2)
    return CommonScatter((mean,), rho, float(values[best]))


def log_likelihoods_at(mean: float, thetas: Floats, counted: Tally) -> Floats:
    """Log-likelihood of one mean with each scatter, in one pass.

    Parameters
    ----------
    mean : float
        Between 0 and 1, both ends left out.
    thetas : array of float, shape (scatters,)
        Not negative.
    counted : Tally
        From :func:`tally`.

    """
    steps = np.arange(len(counted.sown_above)) * thetas[:, None]
    value: Floats = (
        np.log(mean + steps) @ counted.came_above
        + np.log(1 - mean + steps) @ counted.failed_above
        - np.log1p(steps) @ counted.sown_above
    )
    return value


def _descend(
    groups: Sequence[Tally], start: Floats, bounds: list[tuple[float, float]]
) -> tuple[Floats, float]:
    def cost(parameters: Floats) -> tuple[float, Floats]:
        value, slope = 0.0, np.zeros(len(parameters))
        for at, group in enumerate(groups):
            part, slope_logit, slope_theta = _with_slopes(
                float(parameters[at]), float(parameters[-1]), group
            )
            value += part
            slope[at] = slope_logit
            slope[-1] += slope_theta
        return -value, -slope

    found = minimize(
        cost,
        start,
        jac=True,
        method="L-BFGS-B",
        bounds=bounds,
        options={"ftol": 1e-14, "gtol": 1e-8},
    )
    return np.asarray(found.x, dtype=np.float64), float(found.fun)


def _with_slopes(mean_logit: float, theta: float, counted: Tally) -> tuple[float, float, float]:
    """Log-likelihood of one group and its slopes in the logit of the mean and in theta."""
    # Both ends from their own logit: 1 - expit would lose the digits of a mean close to 1.
    mean, rest = float(expit(mean_logit)), float(expit(-mean_logit))
    j = np.arange(len(counted.sown_above))
    came, failed, sown = mean + j * theta, rest + j * theta, 1 + j * theta
    value = (
        counted.came_above @ np.log(came)
        + counted.failed_above @ np.log(failed)
        - counted.sown_above @ np.log(sown)
    )
    came_part, failed_part = counted.came_above / came, counted.failed_above / failed
    slope_mean = float(came_part.sum() - failed_part.sum())
    slope_theta = float(j @ (came_part + failed_part - counted.sown_above / sown))
    return float(value), slope_mean * mean * rest, slope_theta


def _start_logit(group: Tally) -> float:
    return math.log((group.came + 0.5) / (group.sown - group.came + 0.5))


def _above(counts: NDArray[np.int64], most: int) -> Floats:
    """At j, how many of `counts` are more than j, for j below `most`."""
    having = np.bincount(counts, minlength=most + 1)
    return (len(counts) - np.cumsum(having))[:most].astype(np.float64)


def _times_log(times: float, values: Floats) -> Floats:
    """Multiply the logs of `values` by `times`, nought times anything being nought."""
    return times * np.log(values) if times else np.zeros(values.shape)
