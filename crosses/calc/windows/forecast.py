"""When one closed capsule will split, and when to look at it again."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from crosses.calc.errors import BadInput
from crosses.calc.windows.belief import (
    SHARE_OF_OWN_MEAN,
    Opening,
    Posterior,
    Window,
    from_window,
    learnt,
)

CHANCE_TO_LOOK_DAILY = 0.1
RISK_OF_MISSING = 0.05
DAYS_SHOWN = 10
FEWEST_SPLITS_TO_DOUBT_THE_BOOK = 3
# Doubt of the log of the days so wide that the book says nothing about the centre.
CENTRE_UNKNOWN = 10.0
# Half the width, in standard deviations, of the central 95 %.
CENTRAL_95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Forecast:
    """When a capsule that is closed at its age will split; ages in days after pollination.

    Attributes
    ----------
    age_days : float
    split_by_10_days, split_by_50_days, split_by_90_days : float
        Ages by which 10, 50 and 90 of 100 such capsules, closed at this age, will have split.
    chances : tuple of (float, float)
        For each coming day its age and the chance that the capsule has split by then.
    look_again_days : float
        Latest age, in whole days from now, at which the chance to have missed it is under 5 %;
        tomorrow if there is none.
    look_daily_from_days : float
        First age, in whole days from now, at which the chance passes 10 %.
    basis : str

    """

    age_days: float
    split_by_10_days: float
    split_by_50_days: float
    split_by_90_days: float
    chances: tuple[tuple[float, float], ...]
    look_again_days: float
    look_daily_from_days: float
    basis: str


@dataclass(frozen=True, slots=True)
class Disagreement:
    """The book's window and the records do not belong together.

    Attributes
    ----------
    book_days : (float, float)
        The book's central 95 %.
    records_days : float
        Median of the records alone.
    suggested : Window
        Central 80 % of the records, to offer instead.
    sentence : str

    """

    book_days: tuple[float, float]
    records_days: float
    suggested: Window
    sentence: str


def chance_before(known: Posterior, age_days: float, days_ahead: float) -> float:
    """Chance that a capsule, closed at its age, has split some days later.

    Raises
    ------
    BadInput
        If the age or the days ahead are negative.

    """
    _refuse_negative(age_days, "age_days", "A capsule's age")
    _refuse_negative(days_ahead, "days_ahead", "The days ahead")
    now, then = known.log_closed(np.array([age_days, age_days + days_ahead], float))
    return max(float(-np.expm1(then - now)), 0.0)


def look_again_on(known: Posterior, age_days: float, risk: float = RISK_OF_MISSING) -> float:
    """Latest age, in whole days from now, at which the risk of having missed the split is borne.

    It is tomorrow if even tomorrow's chance is larger: nobody looks twice a day.

    Parameters
    ----------
    known : Posterior
        What is known of such capsules.
    age_days : float
        Age at which the capsule was seen closed.
    risk : float
        Largest chance to be taken, between 0 and 1.

    Raises
    ------
    BadInput
        If the age is negative or the risk is not between 0 and 1.

    """
    _refuse_negative(age_days, "age_days", "A capsule's age")
    if not 0 < risk < 1:
        raise BadInput("The risk of missing a split lies between 0 and 1.", field="risk")
    return age_days + max(1, math.floor(age_at(known, age_days, risk) - age_days))


def forecast(known: Posterior, age_days: float) -> Forecast:
    """Forecast the split of one capsule that is closed at its age.

    That it is still closed counts as evidence: the older it is, the later kinds it may belong to.

    Raises
    ------
    BadInput
        If the age is negative.

    Examples
    --------
    >>> from crosses.calc.windows.belief import posterior
    >>> seen = [Opening(17, 18), Opening(19, 20), Opening(15, 16)]
    >>> ahead = forecast(posterior(Window(14, 28), seen), age_days=10)
    >>> round(ahead.split_by_10_days, 1), round(ahead.split_by_50_days, 1)
    (14.1, 17.9)

    """
    _refuse_negative(age_days, "age_days", "A capsule's age")
    tenth, half, most = (age_at(known, age_days, chance) for chance in (0.1, 0.5, 0.9))
    days = age_days + np.arange(DAYS_SHOWN + 1, dtype=np.float64)
    closed = known.log_closed(days)
    chances = -np.expm1(closed[1:] - closed[0])
    daily_in = max(1, math.floor(tenth - age_days) + 1)
    return Forecast(
        age_days=age_days,
        split_by_10_days=tenth,
        split_by_50_days=half,
        split_by_90_days=most,
        chances=tuple(zip(days[1:].tolist(), chances.tolist(), strict=True)),
        look_again_days=look_again_on(known, age_days),
        look_daily_from_days=age_days + daily_in,
        basis=known.basis,
    )


def disagreement(window: Window, records: Sequence[Opening]) -> Disagreement | None:
    """Say when the records' own median lies outside the book's central 95 %; else None.

    The book's width serves to read the records, its place does not. Fewer than three capsules
    seen splitting say nothing.
    """
    if (
        sum(record.opened_by_days is not None for record in records)
        < FEWEST_SPLITS_TO_DOUBT_THE_BOOK
    ):
        return None
    book = from_window(window)
    alone = learnt(
        window, replace(book, doubt_of_centre=CENTRE_UNKNOWN), tuple(records), "alone", ()
    )
    reach = CENTRAL_95 * book.doubt_of_centre / math.sqrt(SHARE_OF_OWN_MEAN)
    low, high = math.exp(book.centre - reach), math.exp(book.centre + reach)
    median = math.exp(alone.belief.centre)
    if low <= median <= high:
        return None
    suggested = Window(round(age_at(alone, 0, 0.1)), round(age_at(alone, 0, 0.9)))
    return Disagreement(
        (low, high),
        median,
        suggested,
        f"Half of these {len(records)} capsules had split by day {median:.0f}; the book's window "
        f"of {window.low_days:g}-{window.high_days:g} days allows {low:.0f} to {high:.0f}. "
        f"The records suggest {suggested.low_days:g}-{suggested.high_days:g} days.",
    )


def age_at(known: Posterior, age_days: float, chance: float) -> float:
    """Return the age by which a capsule, closed at its age now, has split with the given chance."""
    target = float(known.log_closed(np.array([age_days]))[0]) + math.log1p(-chance)

    def excess(log_days: float) -> float:
        return float(known.log_closed(np.array([math.exp(log_days)]))[0]) - target

    low = math.log(age_days) if age_days > 0 else known.belief.centre
    while excess(low) < 0:
        low -= 1
    high = max(low, known.belief.centre) + 0.5
    while excess(high) > 0:
        high += 0.5
    return math.exp(brentq(excess, low, high, xtol=1e-9))


def _refuse_negative(days: float, field: str, what: str) -> None:
    if not 0 <= days < math.inf:
        raise BadInput(f"{what} is 0 days or more.", field=field)
