"""The viability equation turned round, as its authors print it: what its published examples are told in.

The service itself asks only for the days in which seed loses one probit; these say what follows from them.
"""

import math

from scipy.special import ndtr, ndtri

from crosses.calc.errors import BadInput
from seedbank.calc.viability.constants import StorageConstants
from seedbank.calc.viability.equation import LONGEST_SHOWN_DAYS, sigma_days, temperature_term


def probit(share: float, seeds: int | None = None) -> float:
    """Give the normal deviate of a share of living seeds.

    Parameters
    ----------
    share : float
        Between 0 and 1.
    seeds : int, optional
        Number of seeds tested. None and all have no probit; with the number tested they count as
        0.25/n and (n - 0.25)/n.

    Raises
    ------
    BadInput
        If the share is outside 0 to 1, or is 0 or 1 and the number of seeds is not given.

    Examples
    --------
    >>> round(probit(0.98), 6)
    2.053749
    >>> round(probit(1.0, seeds=50), 6)
    2.575829

    """
    if not 0 <= share <= 1:
        raise BadInput("A share of living seed lies between 0 and 100 %.", field="share")
    if 0 < share < 1:
        return float(ndtri(share))
    if seeds is None or seeds < 1:
        raise BadInput(
            "All or none of the seeds germinated: say how many were tested.", field="seeds"
        )
    near = 0.25 / seeds
    return float(ndtri(near if share == 0 else 1 - near))


def viability_after(days: float, *, initial_probit: float, sigma: float) -> float:
    """Share of seeds still alive after so many days.

    Parameters
    ----------
    days : float
        Days in storage, 0 or more.
    initial_probit : float
        Ki, from `probit`.
    sigma : float
        Days to lose one probit, from `sigma_days`.

    Raises
    ------
    BadInput
        If the days are negative.

    """
    if days < 0:
        raise BadInput("Days in storage cannot be negative.", field="days")
    return float(ndtr(initial_probit - days / sigma))


def days_until(share: float, *, initial_probit: float, sigma: float) -> float:
    """Days until the share alive has fallen so far; with a share of one half, the half-life.

    Raises
    ------
    BadInput
        If the share is not below that at the start.

    """
    return sigma * _probits_to_lose(share, initial_probit)


def moisture_needed(
    constants: StorageConstants,
    *,
    days: float,
    initial_probit: float,
    final_share: float,
    temperature_celsius: float,
) -> float:
    """Moisture, in percent of fresh weight, at which the seed keeps so well for so many days.

    Raises
    ------
    BadInput
        If no moisture does it, or the days or the fall asked for make no sense.

    """
    lost = math.log10(_sigma_wanted(days, final_share, initial_probit))
    exponent = (constants.ke - temperature_term(constants, temperature_celsius) - lost) / (
        constants.cw
    )
    if exponent >= 2:
        raise BadInput("The seed would keep that long however moist it is.", field="days")
    return float(10.0**exponent)


def temperature_needed(
    constants: StorageConstants,
    *,
    days: float,
    initial_probit: float,
    final_share: float,
    moisture_percent: float,
) -> float:
    """Warmest storage, in degrees Celsius, at which the seed keeps so well for so many days.

    Raises
    ------
    BadInput
        If the equation knows no temperature cold enough, or the input makes no sense.

    """
    excess = math.log10(_sigma_wanted(days, final_share, initial_probit)) - math.log10(
        sigma_days(constants, moisture_percent, 0.0)
    )
    inside = constants.ch**2 - 4 * constants.cq * excess
    if inside < 0:
        raise BadInput(
            "By the equation no cold keeps the seed that long at this moisture: dry it further.",
            field="moisture_percent",
        )
    return (math.sqrt(inside) - constants.ch) / (2 * constants.cq)


def life_in_words(days: float) -> str:
    """Write a length of storage fit to show: rounded, and never beyond a hundred years.

    Examples
    --------
    >>> life_in_words(5382.388)
    'about 15 years'
    >>> life_in_words(1_960_829)
    'more than 100 years'

    """
    if days > LONGEST_SHOWN_DAYS:
        return "more than 100 years"
    years = days / 365.25
    if years >= 2:
        return f"about {years:.0f} years"
    if days >= 60:
        return f"about {days / 30.4375:.0f} months"
    whole_days = round(days)
    return f"about {whole_days} day{'' if whole_days == 1 else 's'}"


def _probits_to_lose(share: float, initial_probit: float) -> float:
    lost = initial_probit - probit(share)
    if lost <= 0:
        raise BadInput(
            "The share to fall to must be below the share at the start.", field="final_share"
        )
    return lost


def _sigma_wanted(days: float, final_share: float, initial_probit: float) -> float:
    if days <= 0:
        raise BadInput("Say for how many days the seed is to keep.", field="days")
    return days / _probits_to_lose(final_share, initial_probit)
