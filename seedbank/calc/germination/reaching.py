"""By which day a share of all seeds has come, with an interval."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq, minimize
from scipy.special import chdtri

from crosses.calc.errors import BadInput
from crosses.calc.rates import whole_percent
from seedbank.calc.germination.curve import Curve, Ground, ground_of
from seedbank.calc.germination.fitting import STEEPNESS_BOUNDS, highest
from seedbank.calc.germination.likelihood import SHAPES, Floats, Shape, log_likelihood

# Logarithms of a day: twenty times the last look stands for never, and no end is looked for
# further than this from the fit.
FAR = 3.0
FURTHEST = 25.0
# So far along its course a curve of any family has run out to the last digit.
FURTHEST_U = 40.0


@dataclass(frozen=True, slots=True)
class TimeToShare:
    """Day by which a share of all seeds sown has come.

    Attributes
    ----------
    share : float
        Of all seeds sown, between 0 and 1.
    day : float or None
        By the fitted curve; None if it never brings up so many.
    low, high : float or None
        Ends of its interval. `low` is None if even the best that the counts allow never reaches
        the share, `high` if they leave open that it is never reached.
    confidence : float
        Of the interval.
    sentence : str
        All of it in words.

    """

    share: float
    day: float | None
    low: float | None
    high: float | None
    confidence: float
    sentence: str


def time_to_share(curve: Curve, share: float) -> TimeToShare:
    """Day by which `share` of all seeds sown has come, with the interval of the curve.

    Parameters
    ----------
    curve : Curve
        An identified one.
    share : float
        Between 0 and 1.

    Raises
    ------
    BadInput
        If the curve is not identified, or `share` is out of range.

    Notes
    -----
    The interval holds the days at which a curve that has brought up just this share is not much
    less likely than the best of all (profile likelihood, chi-square with one degree of freedom).
    Unlike one from standard errors it stays honest where the share lies next to the share that
    comes in the end: then its upper end is open. It is widened to the scatter between sowings as
    the curve's other intervals are.

    Examples
    --------
    >>> from seedbank.calc.germination.counts import read_counts
    >>> from seedbank.calc.germination.curve import fit_curve
    >>> new = [0, 0, 0, 0, 4, 17, 10, 7, 1, 0, 1, 0, 0, 0]
    >>> curve = fit_curve(read_counts(50, range(1, 15), new))
    >>> time_to_share(curve, 0.5).sentence
    'Half of all seeds by day 6.4 (6.0-6.9).'
    >>> time_to_share(curve, 0.95).sentence
    '95 % of all seeds do not come.'

    """
    if not 0 < share < 1:
        raise BadInput("The share is a fraction between 0 and 1.", field="share")
    ground = ground_of(curve)
    come = min(float(ground.fit.parameters[2]), 1.0)
    day = _day(ground, share) if share < come else None
    allowed = float(chdtri(1, 1 - ground.confidence)) * _widening(ground, share, day)

    def excess(log_day: float) -> float:
        return 2 * (ground.fit.value - _highest_through(ground, log_day, share)) - allowed

    # Whether the counts allow that just this share comes in the end, and so at no day.
    at_the_edge = highest(ground.fit.parameters, ground.seen, ground.family, share)[1]
    is_edge_open = 2 * (ground.fit.value - at_the_edge) <= allowed
    low = high = None
    if day is not None:
        low = _end(excess, math.log(day), -1)
        high = None if is_edge_open else _end(excess, math.log(day), 1)
    elif is_edge_open:
        low = _end(excess, math.log(float(ground.seen.last.max())) + FAR, -1)
    return TimeToShare(share, day, low, high, ground.confidence, _sentence(share, day, low, high))


def _day(ground: Ground, share: float) -> float:
    log_median, log_steepness, come = ground.fit.parameters.tolist()
    u = SHAPES[ground.family].inverse(share / come)
    return math.exp(log_median + u / math.exp(log_steepness))


def _end(excess: Callable[[float], float], start: float, step: int) -> float | None:
    """Day at which the excess rises above nought, on one side of a day at which it is not."""
    if excess(start) > 0:
        return None
    inside, reach = start, 0.05
    while reach < FURTHEST:
        outside = start + step * reach
        if excess(outside) > 0:
            first, last = sorted((inside, outside))
            return math.exp(float(brentq(excess, first, last, xtol=1e-6)))
        inside, reach = outside, reach * 1.6
    return None


def _widening(ground: Ground, share: float, day: float | None) -> float:
    """How many times wider the scatter between sowings makes the variance of the logged day."""
    fit = ground.fit
    if fit.between is None or day is None:
        return fit.share_inflation
    come, steepness = float(fit.parameters[2]), math.exp(fit.parameters[1])
    shape = SHAPES[ground.family]
    u = shape.inverse(share / come)
    behind = share / come**2 / (steepness * _density(shape, u))
    slope = np.array([1.0, -u / steepness, -behind])[: len(fit.covariance)]
    return max(1.0, float(slope @ fit.between @ slope) / float(slope @ fit.covariance @ slope))


def _density(shape: Shape, u: float) -> float:
    """How fast the share come rises in ``u``."""
    at = np.array([u])
    return float((-np.exp(shape.log_waiting(at)) * shape.slope(at))[0])


def _highest_through(ground: Ground, log_day: float, share: float) -> float:
    """Highest log-likelihood of a curve that has brought up just `share` by a day.

    Free are the steepness and where on its course the curve is on that day, ``u``: they settle the
    median of those that come, and the share that comes in the end.
    """
    shape = SHAPES[ground.family]
    seeds = float(ground.seen.seeds.sum() + ground.seen.left.sum())
    least_u = shape.inverse(share)
    bounds_of_steepness = (math.log(STEEPNESS_BOUNDS[0]), math.log(STEEPNESS_BOUNDS[1]))

    def cost(free: Floats) -> tuple[float, Floats]:
        log_steepness, u = float(free[0]), float(free[1])
        steepness = math.exp(log_steepness)
        here = -math.expm1(float(shape.log_waiting(np.array([u]))[0]))
        come = min(share / here, 1.0)
        value, slopes = log_likelihood(
            np.array([log_day - u / steepness, log_steepness, come]), ground.seen, ground.family
        )
        by_median, by_steepness, by_come = slopes.sum(axis=0).tolist()
        slope = np.array(
            [
                by_steepness + by_median * u / steepness,
                -by_median / steepness - by_come * share / here**2 * _density(shape, u),
            ]
        )
        if not (math.isfinite(value) and np.isfinite(slope).all()):
            return 1e10, np.zeros(2)
        return -value / seeds, -slope / seeds

    log_median, log_steepness, come = ground.fit.parameters.tolist()
    at_fitted_median = math.exp(log_steepness) * (log_day - log_median)
    at_fitted_share = shape.inverse(min(share / come, 0.99))
    return max(
        -seeds
        * float(
            minimize(
                cost,
                np.array([log_steepness, min(max(u, least_u), FURTHEST_U)]),
                jac=True,
                method="L-BFGS-B",
                bounds=[bounds_of_steepness, (least_u, FURTHEST_U)],
                options={"ftol": 1e-13, "gtol": 1e-8, "maxiter": 200},
            ).fun
        )
        for u in (at_fitted_median, at_fitted_share)
    )


def _sentence(share: float, day: float | None, low: float | None, high: float | None) -> str:
    part = "Half" if share == 0.5 else f"{whole_percent(share)} %"
    if day is None:
        if low is None:
            return f"{part} of all seeds do not come."
        return (
            f"{part} of all seeds are not expected to come; if they do, not before day {low:.1f}."
        )
    until = f"to day {high:.1f}" if high is not None else "or never"
    ends = f"{low:.1f}-{high:.1f}" if low is not None and high is not None else f"{low:.1f} {until}"
    return f"{part} of all seeds by day {day:.1f} ({ends})."
