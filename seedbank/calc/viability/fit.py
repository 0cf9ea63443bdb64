"""What a lot's own germination tests say about how it ages.

The model is that of the viability equation, share alive = Phi(Ki - p / sigma) after p days, fitted
to counts by the binomial likelihood (never a straight line through probits), with the share only
ever falling. Intervals are profile-likelihood intervals: every pair (Ki, 1/sigma) that the tests do
not contradict at 95 % is kept, and an interval is the range of a figure over those pairs. Seeds of
one test are taken as independent; where three or more tests scatter more than chance allows, the
interval is widened by that scatter (heterogeneity factor with Student's t, as in Finney's Probit
Analysis; cited from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import chdtri, log_ndtr, ndtr, ndtri, stdtrit

from crosses.calc.errors import BadInput
from seedbank.calc.viability.equation import LONGEST_SHOWN_DAYS

Floats = NDArray[np.float64]

NORMAL_95 = 1.959963984540054
DIRECTIONS = 720
FARTHEST = 1e4
HALVINGS = 60


@dataclass(frozen=True)
class SeedTest:
    """One germination test of a stored lot.

    Parameters
    ----------
    age_days : float
        Days in storage when the test was sown.
    germinated, sown : int
        Seeds that germinated, of seeds sown.

    """

    age_days: float
    germinated: int
    sown: int


@dataclass(frozen=True)
class Estimate:
    """A figure with its 95 % interval; infinite where it lies beyond the years that are shown."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class AgeingFit:
    """How a lot ages, as far as its tests can tell.

    Parameters
    ----------
    initial_probit : float
        Ki, the normal deviate of the share alive at the start of storage.
    probits_lost_per_day : float
        1 / sigma; 0 where the tests show no fall.
    tests, seeds : int
        What it rests on.
    scatter : float
        1, or the heterogeneity factor where the tests scatter more than chance.
    region : array of shape (points, 2)
        Edge of the pairs (Ki, 1/sigma) that the tests allow at 95 %.

    """

    initial_probit: float
    probits_lost_per_day: float
    tests: int
    seeds: int
    scatter: float
    region: Floats

    def share_at(self, age_days: float) -> Estimate:
        """Share expected to germinate at an age in days, with its interval."""
        best = self.initial_probit - self.probits_lost_per_day * age_days
        edge = self.region[:, 0] - self.region[:, 1] * age_days
        return Estimate(float(ndtr(best)), float(ndtr(edge.min())), float(ndtr(edge.max())))

    def age_when(self, share: float) -> Estimate:
        """Age in days at which the share has fallen so far; infinite past a hundred years."""
        return self._age(lambda initial: np.full_like(initial, ndtri(share)))

    def age_when_left(self, part_of_initial: float) -> Estimate:
        """Age in days at which this part of the share alive at the start is left."""
        return self._age(lambda initial: ndtri(part_of_initial * ndtr(initial)))

    def _age(self, target_probit: Callable[[Floats], Floats]) -> Estimate:
        initial = np.append(self.region[:, 0], self.initial_probit)
        loss = np.append(self.region[:, 1], self.probits_lost_per_day)
        to_lose = initial - target_probit(initial)
        ages = np.full_like(to_lose, np.inf)
        falling = loss > 0
        ages[falling] = to_lose[falling] / loss[falling]
        ages[to_lose <= 0] = 0.0
        ages[ages > LONGEST_SHOWN_DAYS] = np.inf
        return Estimate(float(ages[-1]), float(ages.min()), float(ages.max()))


def fit_tests(tests: Sequence[SeedTest]) -> AgeingFit:
    """Fit starting viability and rate of loss to tests at two or more ages.

    Where the counts cannot hold the curve down (nothing but full tests before a loss, say), tests
    in which all or none germinated count as n - 0.25 and 0.25, the convention of the equation.

    Raises
    ------
    BadInput
        If there are fewer than two ages, or a test that cannot be.

    Examples
    --------
    >>> fit = fit_tests([SeedTest(0, 95, 100), SeedTest(1000, 80, 100)])
    >>> round(fit.share_at(1000).value, 4)
    0.8

    """
    ages, germinated, sown = _arrays(tests)
    centre = float(np.average(ages, weights=sown))
    span = float(np.ptp(ages))
    if span == 0:
        raise BadInput("How seed ages takes tests at two ages or more.", field="tests")
    counts = _held_down(ages, germinated, sown)
    scaled = (ages - centre) / span

    def probits(pairs: Floats) -> Floats:
        return pairs[..., 0, None] - pairs[..., 1, None] * scaled

    best = _most_likely(probits, counts, sown, free=2)
    information = _information(best, scaled, sown)
    angles = np.linspace(0, 2 * np.pi, DIRECTIONS, endpoint=False)
    circle = np.column_stack([np.cos(angles), np.sin(angles)])
    # Whitened, the allowed region is near a circle, so even steps of angle walk round it evenly.
    directions = np.linalg.solve(np.linalg.cholesky(information).T, circle.T).T
    scatter, limit = _limit(probits(best), counts, sown, fitted=2)
    edge = _edge(probits, counts, sown, best, directions, limit)
    return _fit(best, edge, centre, span, sown, scatter)


def fit_start(tests: Sequence[SeedTest], *, sigma: float) -> AgeingFit:
    """Fit the starting viability alone, the days per probit being known from elsewhere.

    Parameters
    ----------
    tests : sequence of SeedTest
        One or more.
    sigma : float
        Days in which the seed loses one probit. Its own doubt is not in the interval.

    Raises
    ------
    BadInput
        If there is no test, or one that cannot be.

    """
    ages, germinated, sown = _arrays(tests)
    if sigma <= 0:
        raise BadInput("The days to lose one probit must be above 0.", field="sigma")
    counts = (
        np.clip(germinated, 0.25, sown - 0.25) if _is_one_sided(germinated, sown) else germinated
    )
    lost = ages / sigma

    def probits(pairs: Floats) -> Floats:
        return pairs[..., 0, None] - lost

    best = _most_likely(probits, counts, sown, free=1)
    scatter, limit = _limit(probits(best), counts, sown, fitted=1)
    edge = _edge(probits, counts, sown, best, np.array([[1.0, 0.0], [-1.0, 0.0]]), limit)
    edge[:, 1] = 1 / sigma
    return AgeingFit(float(best[0]), 1 / sigma, len(tests), int(sown.sum()), scatter, edge)


def _arrays(tests: Sequence[SeedTest]) -> tuple[Floats, Floats, Floats]:
    if not tests:
        raise BadInput("There is no germination test to go by.", field="tests")
    for test in tests:
        if test.sown < 1:
            raise BadInput("A germination test needs at least one seed.", field="sown")
        if not 0 <= test.germinated <= test.sown:
            raise BadInput(
                f"{test.germinated} of {test.sown} seeds cannot have germinated.",
                field="germinated",
            )
        if test.age_days < 0:
            raise BadInput("A test cannot be older than the storage.", field="age_days")
    rows = np.array([(test.age_days, test.germinated, test.sown) for test in tests], dtype=float)
    return rows[:, 0], rows[:, 1], rows[:, 2]


def _is_one_sided(germinated: Floats, sown: Floats) -> bool:
    return bool(germinated.sum() in (0, sown.sum()))


def _held_down(ages: Floats, germinated: Floats, sown: Floats) -> Floats:
    """Adjust the counts only where the raw ones have no finite most likely curve."""
    if not _is_one_sided(germinated, sown):
        last_alive = ages[germinated > 0].max()
        first_dead = ages[germinated < sown].min()
        if last_alive > first_dead:
            return germinated
    return np.clip(germinated, 0.25, sown - 0.25)


def _log_likelihood(probit: Floats, counts: Floats, sown: Floats) -> Floats:
    terms = counts * log_ndtr(probit) + (sown - counts) * log_ndtr(-probit)
    return np.asarray(terms.sum(axis=-1), dtype=float)


def _most_likely(
    probits: Callable[[Floats], Floats], counts: Floats, sown: Floats, *, free: int
) -> Floats:
    start = float(ndtri(np.clip(counts.sum() / sown.sum(), 0.001, 0.999)))

    def surprise(pair: Floats) -> float:
        return -float(_log_likelihood(probits(pair), counts, sown))

    def slope(pair: Floats) -> Floats:
        step = np.eye(2)
        probit = probits(pair)
        density = -0.5 * probit**2 - 0.5 * np.log(2 * np.pi)
        pull = counts * np.exp(density - log_ndtr(probit)) - (sown - counts) * np.exp(
            density - log_ndtr(-probit)
        )
        return -np.array([((probits(pair + row) - probit) * pull).sum() for row in step])

    fitted = minimize(
        surprise,
        np.array([start, 0.0]),
        jac=slope,
        method="L-BFGS-B",
        bounds=[(None, None), (0, None if free == 2 else 0)],
        options={"ftol": 1e-15, "gtol": 1e-9, "maxiter": 500},
    )
    return np.asarray(fitted.x, dtype=float)


def _information(best: Floats, scaled: Floats, sown: Floats) -> Floats:
    probit = best[0] - best[1] * scaled
    log_weight = -(probit**2) - np.log(2 * np.pi) - log_ndtr(probit) - log_ndtr(-probit)
    design = np.column_stack([np.ones_like(scaled), -scaled])
    return np.asarray((design * (sown * np.exp(log_weight))[:, None]).T @ design, dtype=float)


def _limit(probit: Floats, counts: Floats, sown: Floats, *, fitted: int) -> tuple[float, float]:
    """Heterogeneity factor, and the fall of log likelihood at the edge of what is allowed."""
    spare = len(counts) - fitted
    if spare >= 1:
        share = ndtr(probit)
        variance = np.maximum(sown * share * (1 - share), 1e-12)
        chi_square = float(((counts - sown * share) ** 2 / variance).sum())
        if chi_square > chdtri(spare, 0.05):
            factor = chi_square / spare
            return factor, factor * float(stdtrit(spare, 0.975)) ** 2 / 2
    return 1.0, NORMAL_95**2 / 2


def _edge(
    probits: Callable[[Floats], Floats],
    counts: Floats,
    sown: Floats,
    best: Floats,
    directions: Floats,
    limit: float,
) -> Floats:
    """Walk from the best pair in each direction to where the likelihood, or a fall, ends.

    The log likelihood is concave, so each direction crosses the edge once.
    """
    top = float(_log_likelihood(probits(best), counts, sown))
    far = np.full(len(directions), FARTHEST)
    rising = directions[:, 1] < 0
    far[rising] = np.minimum(far[rising], best[1] / -directions[rising, 1])
    near = np.zeros_like(far)
    for _ in range(HALVINGS):
        middle = (near + far) / 2
        fall = top - _log_likelihood(probits(best + middle[:, None] * directions), counts, sown)
        inside = fall <= limit
        near = np.where(inside, middle, near)
        far = np.where(inside, far, middle)
    edge = best + near[:, None] * directions
    edge[:, 1] = np.maximum(edge[:, 1], 0.0)
    return np.asarray(edge, dtype=float)


def _fit(
    best: Floats, edge: Floats, centre: float, span: float, sown: Floats, scatter: float
) -> AgeingFit:
    """From the probit at the middle age and the loss over the span of ages to Ki and 1/sigma."""
    pairs = np.vstack([best, edge])
    loss = pairs[:, 1] / span
    initial = pairs[:, 0] + loss * centre
    region = np.column_stack([initial, loss])
    return AgeingFit(
        float(initial[0]), float(loss[0]), len(sown), int(sown.sum()), scatter, region[1:]
    )
