"""What a sowing still to come may bring, judged from the sowings of its kind so far."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import betainc, betaln, gammaln

from seedbank.calc.germination.betabinomial import Tally, log_likelihood, tally

Floats = NDArray[np.float64]

HIGHEST_RHO = 1 / 3
# Grid points this far below the highest, in natural logs, weigh nothing.
NEGLIGIBLE = 25.0
COARSE_POINTS = (60, 30)
FINE_POINTS = (120, 40)


@dataclass(frozen=True, slots=True, eq=False)
class Expectation:
    """What the share of a coming sowing may be: a mixture of beta laws.

    Attributes
    ----------
    alpha, beta, weights : array of float, one shape
        Parameters of the laws and their weights, which add up to 1.

    """

    alpha: Floats
    beta: Floats
    weights: Floats

    def mean(self) -> float:
        """Give the expected share."""
        return float(self.weights @ (self.alpha / (self.alpha + self.beta)))

    def quantile(self, probability: float) -> float:
        """Give the share below which the coming sowing's lies with `probability`."""

        def excess(share: float) -> float:
            return float(self.weights @ betainc(self.alpha, self.beta, share)) - probability

        return float(brentq(excess, 0.0, 1.0, xtol=1e-9))

    def chance_of_at_least(self, seedlings: int, seeds: int) -> float:
        """Give the chance of at least so many seedlings from so many seeds of one sowing."""
        come = np.arange(seedlings)[:, None]
        log_ways = gammaln(seeds + 1) - gammaln(come + 1) - gammaln(seeds - come + 1)
        log_chances = (
            log_ways
            + betaln(self.alpha + come, self.beta + seeds - come)
            - betaln(self.alpha, self.beta)
        )
        return 1 - float((np.exp(log_chances) @ self.weights).sum())


def expect_next_sowing(sowings: Sequence[tuple[int, int]]) -> Expectation:
    """Weigh what the share of the next sowing of this kind may be.

    Parameters
    ----------
    sowings : sequence of (came, sown)
        Seedlings and seeds of each sowing so far; may be empty.

    Raises
    ------
    BadInput
        If a count cannot be.

    Notes
    -----
    Averages beta laws over their mean, taken beforehand as uniform on (0, 1), and their scatter,
    the square root of rho uniform on (0, sqrt(1/3)), on a grid: nothing is random.

    Examples
    --------
    >>> coming = expect_next_sowing([(18, 20), (15, 20), (17, 20)])
    >>> round(coming.quantile(0.1), 2), round(coming.quantile(0.9), 2)
    (0.65, 0.93)

    """
    counted = tally(sowings) if any(sown != 0 for _, sown in sowings) else None
    mean_ends, root_ends = (0.0, 1.0), (0.0, HIGHEST_RHO**0.5)
    means, roots, weights = _weigh(counted, mean_ends, root_ends, COARSE_POINTS)
    if counted is not None:
        heavy = weights > np.exp(-NEGLIGIBLE)
        closer_means = _around(means[heavy], mean_ends[1], COARSE_POINTS[0])
        closer_roots = _around(roots[heavy], root_ends[1], COARSE_POINTS[1])
        means, roots, weights = _weigh(counted, closer_means, closer_roots, FINE_POINTS)
    heavy = weights > np.exp(-NEGLIGIBLE)
    means, roots, weights = means[heavy], roots[heavy], weights[heavy]
    size = 1 / roots**2 - 1
    return Expectation(size * means, size * (1 - means), weights / weights.sum())


def _around(points: Floats, end: float, grid_points: int) -> tuple[float, float]:
    """Reach from a cell below the lowest of `points` to a cell above the highest."""
    cell = end / grid_points
    return max(float(points.min()) - cell, 0.0), min(float(points.max()) + cell, end)


def _weigh(
    counted: Tally | None,
    mean_ends: tuple[float, float],
    root_ends: tuple[float, float],
    points: tuple[int, int],
) -> tuple[Floats, Floats, Floats]:
    """Means, square roots of rho and weights, highest 1, at the midpoints of a grid."""
    means, roots = (
        grid.ravel()
        for grid in np.meshgrid(
            _midpoints(*mean_ends, points[0]), _midpoints(*root_ends, points[1]), indexing="ij"
        )
    )
    if counted is None:
        return means, roots, np.ones(means.shape)
    value = log_likelihood(means, roots**2 / (1 - roots**2), counted)
    return means, roots, np.exp(value - value.max())


def _midpoints(low: float, high: float, points: int) -> Floats:
    return low + (high - low) * (np.arange(points) + 0.5) / points
