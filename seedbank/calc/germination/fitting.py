"""The highest point of the germination likelihood, and how sharp it is."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize
from scipy.special import chdtri

from seedbank.calc.germination.likelihood import Family, Seen, log_likelihood

Floats = NDArray[np.float64]

# With fewer sowings their scatter says too little about itself. Common practice, no source.
FEWEST_SOWINGS_FOR_SCATTER = 5
FEWEST_LOOKS_WITH_SEEDLINGS = 3
# Logarithms of day and steepness, and the share, are all of the size of 1: with a standard error of
# 2 in any direction (sevenfold for a logarithm) the counts have settled nothing.
WIDEST_ERROR = 2.0
ALL_COME = 1 - 1e-6
LEAST_SHARE = 1e-6
STEEPNESS_BOUNDS = (0.02, 500.0)


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Highest point of the likelihood and the spread about it.

    Attributes
    ----------
    parameters : array, shape (3,)
        ``ln e`` (days), ``ln b``, ``d``.
    value : float
        Log-likelihood there.
    errors : array, shape (3,), or (2,) when ``d`` is 1
        Standard errors of the parameters.
    share_inflation : float
        How many times wider the scatter between sowings makes the variance of ``d``.
    covariance : array, shape (free, free)
        Of the parameters, each seed taken for itself; `free` is 2 when ``d`` is 1, else 3.
    between : array, shape (free, free), or None
        The same from the scatter between sowings; None where they are too few to tell.

    """

    parameters: Floats
    value: float
    errors: Floats
    share_inflation: float
    covariance: Floats
    between: Floats | None


def too_little(seen: Seen) -> str:
    """Say why the counts cannot settle a curve whatever its shape; empty if they may."""
    if len(seen.seeds) == 0:
        return "Nothing has come up, so there is no course to draw."
    if seen.after.max() < seen.by.min():
        return "All seedlings may have come at once: they were found at one look."
    if len(set(zip(seen.after, seen.by, strict=True))) < FEWEST_LOOKS_WITH_SEEDLINGS:
        return "Seedlings were found at two looks only; a curve needs three."
    return ""


def fit_family(seen: Seen, family: Family) -> Fit | None:
    """Fit all three parameters; None when the likelihood has no proper peak."""
    seen_share = float(seen.seeds.sum() / (seen.seeds.sum() + seen.left.sum()))
    middle = math.log(float(np.average(seen.by, weights=seen.seeds)))
    candidates = [
        highest(np.array([middle, math.log(steepness), share]), seen, family)
        for steepness in (1.5, 6.0)
        for share in (min(1.02 * seen_share, 0.999), 0.5 + seen_share / 2)
    ]
    parameters, value = max(candidates, key=lambda candidate: candidate[1])
    free = 2 if parameters[2] >= ALL_COME else 3
    information = _information(parameters, seen, family, free)
    if not np.linalg.eigvalsh(information).min() > WIDEST_ERROR**-2:
        return None
    covariance: Floats = np.linalg.inv(information).astype(np.float64)
    variances = np.diag(covariance)
    widening, between = np.ones(free), None
    if len(seen.last) >= FEWEST_SOWINGS_FOR_SCATTER:
        slopes = log_likelihood(parameters, seen, family)[1][:, :free]
        scatter = slopes.T @ slopes * len(slopes) / (len(slopes) - 1)
        between = covariance @ scatter @ covariance
        # Sowings that happen to agree better than chance would are no reason to narrow anything.
        widening = np.maximum(1.0, np.diag(between) / variances)
    share_inflation = float(widening[2]) if free == 3 else 1.0
    errors = np.sqrt(variances * widening)
    return Fit(parameters, value, errors, share_inflation, covariance, between)


def highest(
    start: Floats, seen: Seen, family: Family, share: float | None = None
) -> tuple[Floats, float]:
    """Parameters at the highest likelihood from `start`, with the share held if one is given."""
    seeds = float(seen.seeds.sum() + seen.left.sum())

    def cost(parameters: Floats) -> tuple[float, Floats]:
        value, slopes = log_likelihood(parameters, seen, family)
        slope = slopes.sum(axis=0)
        if not (math.isfinite(value) and np.isfinite(slope).all()):
            return 1e10, np.zeros(3)
        return -value / seeds, -slope / seeds

    first, last = math.log(float(seen.by.min())), math.log(float(seen.last.max()))
    found = minimize(
        cost,
        start if share is None else np.array([start[0], start[1], share]),
        jac=True,
        method="L-BFGS-B",
        bounds=[
            (first - 5, last + 5),
            (math.log(STEEPNESS_BOUNDS[0]), math.log(STEEPNESS_BOUNDS[1])),
            (LEAST_SHARE, 1.0) if share is None else (share, share),
        ],
        options={"ftol": 1e-15, "gtol": 1e-9, "maxiter": 500},
    )
    return np.asarray(found.x, dtype=np.float64), -float(found.fun) * seeds


def _information(parameters: Floats, seen: Seen, family: Family, free: int) -> Floats:
    """Observed information on the first `free` parameters: how fast the slope falls at the peak."""
    information = np.empty((free, free))
    for at in range(free):
        step = 1e-5 if at < 2 else min(1e-5, (1 - parameters[2]) / 2)
        ahead, behind = parameters.copy(), parameters.copy()
        ahead[at] += step
        behind[at] -= step
        after = log_likelihood(ahead, seen, family)[1].sum(axis=0)
        before = log_likelihood(behind, seen, family)[1].sum(axis=0)
        information[at] = (before - after)[:free] / (2 * step)
    symmetric: Floats = (information + information.T) / 2
    return symmetric


def share_interval(fit: Fit, seen: Seen, family: Family, confidence: float) -> tuple[float, float]:
    """Shares whose best curve is not much less likely than the best of all."""
    allowed = float(chdtri(1, 1 - confidence)) * fit.share_inflation
    peak = float(fit.parameters[2])

    def excess(share: float) -> float:
        return 2 * (fit.value - highest(fit.parameters, seen, family, share)[1]) - allowed

    below = peak / 2
    while excess(below) < 0:
        below /= 2
    low = float(brentq(excess, below, peak, xtol=1e-6))
    if peak >= ALL_COME or excess(1.0) <= 0:
        return low, 1.0
    return low, float(brentq(excess, peak, 1.0, xtol=1e-6))
