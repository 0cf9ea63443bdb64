"""Likelihood of a germination curve on the intervals between looks, with its slope.

Three families share one shape of parameters: ``d``, the share of seeds that come in the end; ``e``,
the day by which half of *those* have come; ``b``, the steepness. With ``u = b ln(t / e)`` the share
of those that come still waiting on day ``t`` is

* log-logistic: ``1 / (1 + exp u)``
* log-normal: ``Phi(-u)``
* Weibull: ``exp(-ln 2 exp u)``

Everything is reckoned from the logarithm of that share, which keeps its digits in both tails.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_expit, log_ndtr, ndtri

from seedbank.calc.germination.counts import Counts

Family = Literal["log_logistic", "log_normal", "weibull"]
Floats = NDArray[np.float64]

# Beyond this, both tails are flat to the last digit and the exponential would run over.
FURTHEST = 700.0


@dataclass(frozen=True, slots=True)
class Shape:
    """One family: log of the share still waiting, its slope in u, and u at a share come."""

    log_waiting: Callable[[Floats], Floats]
    slope: Callable[[Floats], Floats]
    inverse: Callable[[float], float]


def _log_normal_slope(u: Floats) -> Floats:
    log_density: Floats = -0.5 * u * u - 0.5 * math.log(2 * math.pi)
    return -np.exp(log_density - log_ndtr(-u))


SHAPES: dict[Family, Shape] = {
    "log_logistic": Shape(
        log_waiting=lambda u: log_expit(-u),
        slope=lambda u: -np.exp(log_expit(u)),
        inverse=lambda share: math.log(share / (1 - share)),
    ),
    "log_normal": Shape(
        log_waiting=lambda u: log_ndtr(-u),
        slope=_log_normal_slope,
        inverse=lambda share: float(ndtri(share)),
    ),
    "weibull": Shape(
        log_waiting=lambda u: -math.log(2) * np.exp(u),
        slope=lambda u: -math.log(2) * np.exp(u),
        inverse=lambda share: math.log(-math.log1p(-share) / math.log(2)),
    ),
}


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """Where the seeds of several sowings were seen to come, and how many were left.

    `after`, `by`, `seeds`, `sowing` have one entry for each interval in which seedlings were found;
    `last`, `left` one for each sowing.
    """

    after: Floats
    by: Floats
    seeds: Floats
    sowing: NDArray[np.int64]
    last: Floats
    left: Floats


def gather(several: Sequence[Counts]) -> Seen:
    """Lay the counts of several sowings end to end, leaving out looks at which nothing was found.

    Parameters
    ----------
    several : sequence of Counts
        At least one sowing.

    """
    came = [counts.new > 0 for counts in several]
    pairs = list(zip(several, came, strict=True))
    return Seen(
        after=np.concatenate([counts.days_before[found] for counts, found in pairs]),
        by=np.concatenate([counts.days[found] for counts, found in pairs]),
        seeds=np.concatenate([counts.new[found] for counts, found in pairs]).astype(np.float64),
        sowing=np.repeat(np.arange(len(several)), [int(found.sum()) for found in came]),
        last=np.array([counts.days[-1] for counts in several]),
        left=np.array([counts.sown - counts.germinated for counts in several], dtype=np.float64),
    )


def log_likelihood(parameters: Floats, seen: Seen, family: Family) -> tuple[float, Floats]:
    """Log-likelihood and its slope, sowing by sowing.

    Parameters
    ----------
    parameters : array, shape (3,)
        ``ln e`` (days), ``ln b``, ``d``.
    seen : Seen
        From :func:`gather`.
    family : str
        Key of :data:`SHAPES`.

    Returns
    -------
    value : float
        Sum over all seeds; minus infinity where the seeds seen are impossible.
    slopes : array, shape (sowings, 3)
        Slope of each sowing's part in each parameter.

    """
    shape, has_left = SHAPES[family], seen.left > 0
    slopes = np.zeros((len(seen.last), 3))
    # Far from the peak a chance may vanish; the caller reads minus infinity and turns back.
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        found_values, found_slopes = _found(parameters, seen, shape)
        left_values, left_slopes = _left(parameters, seen.last[has_left], shape)
        np.add.at(slopes, seen.sowing, seen.seeds[:, None] * found_slopes)
        slopes[has_left] += seen.left[has_left, None] * left_slopes
        value = seen.seeds @ found_values + seen.left[has_left] @ left_values
    return float(value), slopes


def _found(parameters: Floats, seen: Seen, shape: Shape) -> tuple[Floats, Floats]:
    """Log of the chance to be found in each interval, and its slopes."""
    share = float(parameters[2])
    u_after, u_by = _scaled(seen.after, parameters), _scaled(seen.by, parameters)
    waiting_after = shape.log_waiting(u_after)
    fall = shape.log_waiting(u_by) - waiting_after
    values = waiting_after + np.log(-np.expm1(fall)) + math.log(share)
    weight_after = shape.slope(u_after) / -np.expm1(fall)
    weight_by = shape.slope(u_by) / np.expm1(-fall)
    slopes = np.column_stack(
        (
            -math.exp(parameters[1]) * (weight_after - weight_by),
            u_after * weight_after - u_by * weight_by,
            np.full(len(u_by), 1 / share),
        )
    )
    return values, slopes


def _left(parameters: Floats, last: Floats, shape: Shape) -> tuple[Floats, Floats]:
    """Log of the chance not to be found by each last look, and its slopes."""
    share, u = float(parameters[2]), _scaled(last, parameters)
    waiting = shape.log_waiting(u)
    values = np.logaddexp(np.log1p(-share), math.log(share) + waiting)
    weight = share * np.exp(waiting - values) * shape.slope(u)
    slopes = np.column_stack(
        (-math.exp(parameters[1]) * weight, u * weight, np.expm1(waiting) * np.exp(-values))
    )
    return values, slopes


def _scaled(days: Floats, parameters: Floats) -> Floats:
    """``b ln(t / e)``, the sowing day itself standing as far to the left as matters."""
    with np.errstate(divide="ignore"):
        u: Floats = math.exp(parameters[1]) * (np.log(days) - parameters[0])
    return np.clip(u, -FURTHEST, FURTHEST)
