"""The running share of several sowings taken together, day by day."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from crosses.calc.errors import BadInput
from crosses.calc.rates import score_ends, whole_percent
from seedbank.calc.germination.counts import Counts
from seedbank.calc.germination.course import LEAST_STEP, Interval, intervals, turnbull
from seedbank.calc.germination.pool import pool_sowings, sowings_words

# In natural logs, for each seed. What it moves a share by nobody would see, and many sowings looked
# at on different days come that near in a second.
NEAR_ENOUGH = 5e-6


@dataclass(frozen=True, slots=True)
class CourseStep:
    """Share of all seeds that had come by a day.

    Attributes
    ----------
    day : float
        Days after sowing.
    share, low, high : float
        With the ends of the interval.
    known : int
        Seeds of which somebody knew on this day whether they had come.

    """

    day: float
    share: float
    low: float
    high: float
    known: int


@dataclass(frozen=True, slots=True)
class PooledCourse:
    """What the looks at several sowings say together about when their seeds come.

    Attributes
    ----------
    steps : tuple of CourseStep
        At each day by which the share has risen.
    half_after_day, half_by_day : float or None
        Between these two days half of what came had come; None where nothing came.
    sowings, sown, came : int
        What stands behind it.
    design_effect : float
        By how much fewer seeds the intervals count on, because seeds of one sowing are alike.
    confidence : float
        Of the intervals.
    sentence : str
        All of it in words.

    """

    steps: tuple[CourseStep, ...]
    half_after_day: float | None
    half_by_day: float | None
    sowings: int
    sown: int
    came: int
    design_effect: float
    confidence: float
    sentence: str


def pooled_course(sowings: Sequence[Sequence[Counts]], confidence: float = 0.95) -> PooledCourse:
    """Pool the running shares of sowings that were looked at on days of their own.

    Parameters
    ----------
    sowings : sequence of sequence of Counts
        Of each sowing the pots that somebody looked at, one or more.
    confidence : float
        Of the intervals, between 0 and 1.

    Raises
    ------
    BadInput
        If there is no sowing.

    Notes
    -----
    The share is the nonparametric maximum-likelihood estimate (:func:`turnbull`). Seeds of one
    sowing fare alike, so that many seeds of few sowings tell less than their number: the interval
    is the score interval for the seeds known that day divided by the design effect
    1 + (m - 1) rho (Kish 1965, Survey Sampling, section 5.4), with m the mean size of a sowing
    weighted by its seeds, and rho from :func:`pool_sowings`.

    Examples
    --------
    >>> from seedbank.calc.germination.counts import read_counts
    >>> course = pooled_course([[read_counts(10, [7, 14], [5, 5])], [read_counts(10, [10], [8])]])
    >>> [(step.day, round(step.share, 3), step.known) for step in course.steps]
    [(7.0, 0.5, 12), (10.0, 0.8, 15), (14.0, 1.0, 18)]
    >>> course.half_after_day, course.half_by_day
    (0.0, 7.0)

    """
    if not sowings:
        raise BadInput("There are no sowings to pool.", field="sowings")
    results = [
        (sum(pot.germinated for pot in pots), sum(pot.sown for pot in pots)) for pots in sowings
    ]
    effect = _design_effect(results)
    observed = _merged(interval for pots in sowings for pot in pots for interval in intervals(pot))
    steps, half = _steps(observed, effect, confidence)
    came, sown = (sum(numbers) for numbers in zip(*results, strict=True))
    return PooledCourse(
        steps=steps,
        half_after_day=half[0],
        half_by_day=half[1],
        sowings=len(results),
        sown=sown,
        came=came,
        design_effect=effect,
        confidence=confidence,
        sentence=_sentence(steps, half, came, sown, len(results)),
    )


def _design_effect(results: Sequence[tuple[int, int]]) -> float:
    sizes = np.array([sown for _came, sown in results], dtype=np.float64)
    mean_size = float((sizes**2).sum() / sizes.sum())
    return max(1.0, 1 + (mean_size - 1) * pool_sowings(results).rho)


def _merged(observed: Iterator[Interval]) -> list[Interval]:
    seeds: dict[tuple[float, float | None], int] = {}
    for one in observed:
        ends = (one.after_day, one.by_day)
        seeds[ends] = seeds.get(ends, 0) + one.seeds
    return [Interval(after, by, number) for (after, by), number in seeds.items()]


def _steps(
    observed: Sequence[Interval], effect: float, confidence: float
) -> tuple[tuple[CourseStep, ...], tuple[float | None, float | None]]:
    pooled = turnbull(observed, NEAR_ENOUGH * sum(one.seeds for one in observed))
    whole = sum(
        share for day, share in zip(pooled.by_days, pooled.shares, strict=True) if np.isfinite(day)
    )
    found: list[CourseStep] = []
    half: tuple[float | None, float | None] = (None, None)
    share = 0.0
    for after, day, more in zip(pooled.after_days, pooled.by_days, pooled.shares, strict=True):
        if not np.isfinite(day) or more < LEAST_STEP:
            continue
        share = min(share + more, 1.0)
        if half[1] is None and share >= whole / 2 - LEAST_STEP:
            half = (after, day)
        known = sum(
            one.seeds
            for one in observed
            if one.after_day >= day or (one.by_day is not None and one.by_day <= day)
        )
        low, high = score_ends(share, max(1.0, known / effect), confidence)
        found.append(CourseStep(day, share, low, high, known))
    return tuple(found), half


def _sentence(
    steps: Sequence[CourseStep],
    half: tuple[float | None, float | None],
    came: int,
    sown: int,
    sowings: int,
) -> str:
    behind = f"{came} of {sown} seeds in {sowings_words(sowings)}"
    if not steps:
        return f"Nothing has come up: {behind}."
    last = steps[-1]
    return (
        f"{whole_percent(last.share)} % ({whole_percent(last.low)}-{whole_percent(last.high)} %)"
        f" by day {last.day:g}; half of what came had come between day {half[0]:g} and"
        f" day {half[1]:g}; {behind}."
    )
