"""When a capsule will split: a window from the book, sharpened by what was seen.

A capsule is closed at one look and split at another, so a record is an interval and never a day.
The days from pollination to splitting are taken as log-normal. What is not known about its centre
and spread is averaged over, on a grid: half of the window's doubt is the plant's and the grower's
own mean, which records remove; half is from capsule to capsule, which stays.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr, ndtr

from crosses.calc.errors import BadInput
from crosses.calc.grids import Floats, Grid, zoomed

# A window from low to high is read as the central 80 % of one capsule's time in unknown hands.
WINDOW_WIDTH_IN_DEVIATIONS = 2 * 1.2815515655446004
DOUBT_OF_LOG_SPREAD = 0.35
LEAST_PLAIN_CHANCE = 1e-200
# With three records 45 by 45 points give six digits of a chance, 61 give eight.
GRID_POINTS = 45
SHARE_OF_OWN_MEAN = 0.5
# Records of a level show the spread of several plants together. A third of it may be the one
# plant's own mean: with that the 80 % interval held 73 to 87 of 100 capsules, whether plants or
# capsules differed more; with a half or a quarter less evenly (bench_forecast_coverage).
SHARE_OF_LEVEL_BELOW = 1 / 3


@dataclass(frozen=True, slots=True)
class Window:
    """Days from pollination in which capsules of a kind mostly split, from low to high."""

    low_days: float
    high_days: float

    def __post_init__(self) -> None:
        """Refuse a window that is none."""
        if not 0 < self.low_days < self.high_days < math.inf:
            raise BadInput(
                "A window runs from a number of days above 0 to a larger one.", field="low_days"
            )


@dataclass(frozen=True, slots=True)
class Opening:
    """What was seen of one capsule, in days after pollination.

    Attributes
    ----------
    closed_until_days : float
        Age when it was last seen closed; 0 if it was not looked at before it split.
    opened_by_days : float or None
        Age when it was first seen split. None if it was still closed when last seen, and also if
        it was then lost, eaten, cut green or aborted.

    """

    closed_until_days: float
    opened_by_days: float | None

    def __post_init__(self) -> None:
        """Refuse an opening that cannot be."""
        if not 0 <= self.closed_until_days < math.inf:
            raise BadInput(
                "A capsule is last seen closed on the day of pollination or later.",
                field="closed_until_days",
            )
        if self.opened_by_days is not None and self.opened_by_days <= self.closed_until_days:
            raise BadInput(
                "A capsule is seen split after it was last seen closed.", field="opened_by_days"
            )


@dataclass(frozen=True, slots=True)
class Belief:
    """Normal doubt about the log-normal's two numbers, on the scale of log days."""

    centre: float
    doubt_of_centre: float
    log_spread: float
    doubt_of_log_spread: float


@dataclass(frozen=True, slots=True)
class Source:
    """Records that spoke: whose they are ("of this seed parent"), how many, how many splitting."""

    name: str
    records: int
    splits: int


@dataclass(frozen=True, eq=False)
class Posterior:
    """What is known of the days to splitting at one level; reuse it for every capsule there.

    Attributes
    ----------
    window : Window
    grid : Grid
        Weights over centre and log spread.
    belief : Belief
        The same, summed up by means and standard deviations.
    sources : tuple of Source
        Broadest first.

    """

    window: Window
    grid: Grid
    belief: Belief
    sources: tuple[Source, ...]

    def log_closed(self, days: Floats) -> Floats:
        """Logarithm of the chance that a capsule is still closed at each age in days."""
        with np.errstate(divide="ignore"):
            logs = np.log(days)[..., None]
        deviates = (self.grid.first - logs) / np.exp(self.grid.second)
        plain = ndtr(deviates) @ self.grid.weight
        if plain.min() > LEAST_PLAIN_CHANCE:
            return np.asarray(np.log(plain), np.float64)
        # So far past its time that plain chances fall to nothing: the largest term carries on.
        closed = log_ndtr(deviates)
        largest = closed.max(axis=-1, keepdims=True)
        together = np.exp(closed - largest) @ self.grid.weight
        return np.asarray(largest[..., 0] + np.log(together), np.float64)

    @property
    def basis(self) -> str:
        """Sentence that says which records spoke."""
        book = f"the book's window of {self.window.low_days:g}-{self.window.high_days:g} days"
        if not self.sources:
            return f"From {book} alone, no records."
        said = [
            f"{source.records} record{'' if source.records == 1 else 's'} {source.name} "
            f"({source.splits} seen splitting)"
            for source in reversed(self.sources)
        ]
        return f"From {', '.join(said)} and {book}."


def from_window(window: Window) -> Belief:
    """Belief that the book's window stands for, before any record."""
    spread = math.log(window.high_days / window.low_days) / WINDOW_WIDTH_IN_DEVIATIONS
    return Belief(
        centre=math.log(window.low_days * window.high_days) / 2,
        doubt_of_centre=spread * math.sqrt(SHARE_OF_OWN_MEAN),
        log_spread=math.log(spread * math.sqrt(1 - SHARE_OF_OWN_MEAN)),
        doubt_of_log_spread=DOUBT_OF_LOG_SPREAD,
    )


def posterior(window: Window, records: Iterable[Opening], name: str = "of this kind") -> Posterior:
    """Join the book's window with records of one level, the broadest there is.

    Parameters
    ----------
    window : Window
        From the book.
    records : iterable of Opening
        Capsules that lived; a flower that never took is no record of its time.
    name : str
        Whose records they are, to follow "14 records": "of the genus".

    Examples
    --------
    >>> seen = [Opening(17, 18), Opening(19, 20), Opening(15, 16)]
    >>> posterior(Window(14, 28), seen).basis
    "From 3 records of this kind (3 seen splitting) and the book's window of 14-28 days."

    """
    return learnt(window, from_window(window), tuple(records), name, ())


def narrowed(above: Posterior, records: Iterable[Opening], name: str) -> Posterior:
    """Go one level down, say from the taxon to one seed parent, with that level's own records.

    What the level above knows of single capsules becomes the prior here, widened: a third of
    its spread may be this plant's own mean. A level without records changes nothing. Levels nest:
    genus, taxon, seed parent, cross. Give each record at its narrowest level only, or it
    would count twice.

    Parameters
    ----------
    above : Posterior
        Of the next broader level.
    records : iterable of Opening
        Of this level, and of none below it.
    name : str
        As in `posterior`.

    """
    own = tuple(records)
    if not own:
        return above
    if not above.sources:
        return learnt(above.window, above.belief, own, name, ())
    wide = above.belief
    spread = math.exp(wide.log_spread)
    prior = Belief(
        centre=wide.centre,
        doubt_of_centre=math.hypot(wide.doubt_of_centre, spread * math.sqrt(SHARE_OF_LEVEL_BELOW)),
        log_spread=wide.log_spread + math.log(1 - SHARE_OF_LEVEL_BELOW) / 2,
        doubt_of_log_spread=math.hypot(wide.doubt_of_log_spread, DOUBT_OF_LOG_SPREAD),
    )
    return learnt(above.window, prior, own, name, above.sources)


def learnt(
    window: Window,
    prior: Belief,
    records: tuple[Opening, ...],
    name: str,
    above: tuple[Source, ...],
) -> Posterior:
    """Join any belief with records; `posterior` and `narrowed` say with which."""
    # One that was never seen closed nor split tells nothing.
    telling = [each for each in records if each.closed_until_days > 0 or each.opened_by_days]
    times = np.array(
        [(each.closed_until_days, each.opened_by_days or math.inf) for each in telling], float
    ).reshape(-1, 2)
    distinct, counts = np.unique(times, axis=0, return_counts=True)
    with np.errstate(divide="ignore"):
        last_closed, first_split = np.log(distinct.T)

    def log_density(centre: Floats, log_spread: Floats) -> Floats:
        density = -(((centre - prior.centre) / prior.doubt_of_centre) ** 2) / 2
        density = density - ((log_spread - prior.log_spread) / prior.doubt_of_log_spread) ** 2 / 2
        spread = np.exp(log_spread)[..., None]
        seen = _log_between(
            (last_closed - centre[..., None]) / spread, (first_split - centre[..., None]) / spread
        )
        return np.asarray(density + seen @ counts, np.float64)

    ends = np.concatenate([last_closed, first_split])
    ends = np.append(ends[np.isfinite(ends)], prior.centre)
    grid = zoomed(
        log_density,
        _around(ends, 9 * prior.doubt_of_centre),
        _around(np.array([prior.log_spread]), 9 * prior.doubt_of_log_spread),
        GRID_POINTS,
    )
    splits = sum(each.opened_by_days is not None for each in telling)
    spoke = (Source(name, len(telling), splits),) if telling else ()
    return Posterior(window, grid, summed_up(grid), above + spoke)


def _around(values: Floats, reach: float) -> tuple[float, float]:
    return float(values.min()) - reach, float(values.max()) + reach


def _log_between(low: Floats, high: Floats) -> Floats:
    """Log of the normal chance between two deviates, from the tail that keeps its digits."""
    upper_tail = low + high > 0
    larger = log_ndtr(np.where(upper_tail, -low, high))
    smaller = log_ndtr(np.where(upper_tail, -high, low))
    with np.errstate(divide="ignore"):
        return np.asarray(larger + np.log1p(-np.exp(smaller - larger)), np.float64)


def summed_up(grid: Grid) -> Belief:
    """Sum a grid up by means and standard deviations."""
    centre = float(grid.weight @ grid.first)
    log_spread = float(grid.weight @ grid.second)
    return Belief(
        centre=centre,
        doubt_of_centre=math.sqrt(float(grid.weight @ (grid.first - centre) ** 2)),
        log_spread=log_spread,
        doubt_of_log_spread=math.sqrt(float(grid.weight @ (grid.second - log_spread) ** 2)),
    )
