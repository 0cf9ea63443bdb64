"""The seed viability equation of Ellis and Roberts (1980).

    v = Ki - p / sigma,    log10 sigma = KE - CW log10 m - CH t - CQ t^2

with v the viability after p days and Ki the viability at the start, both as normal deviates
(probits without the old addition of five), m the moisture in percent of fresh weight, t the
temperature in degrees Celsius and sigma the days in which seed loses one probit. It speaks of
orthodox seed only.
"""

import math

from crosses.calc.errors import BadInput
from seedbank.calc.viability.constants import StorageConstants

MOISTURE_STUDIED_PERCENT = (5.0, 25.0)
TEMPERATURE_STUDIED_CELSIUS = (-20.0, 90.0)

# Far enough for any seed keeper, and short of the absurd: the equation gives chickpea at -20 °C a
# half-life of over five thousand years.
LONGEST_SHOWN_DAYS = 36_525.0


def range_warnings(moisture_percent: float, temperature_celsius: float) -> tuple[str, ...]:
    """Say what lies outside the conditions the equation was studied in; often nothing."""
    warnings = []
    if not MOISTURE_STUDIED_PERCENT[0] <= moisture_percent <= MOISTURE_STUDIED_PERCENT[1]:
        warnings.append(
            f"{moisture_percent:g} % moisture is outside the 5 to 25 % the equation was studied in."
        )
    low, high = TEMPERATURE_STUDIED_CELSIUS
    if not low <= temperature_celsius <= high:
        warnings.append(
            f"{temperature_celsius:g} °C is outside the -20 to 90 °C the equation was studied in."
        )
    return tuple(warnings)


def temperature_term(constants: StorageConstants, temperature_celsius: float) -> float:
    """CH t + CQ t^2, the part of log10 sigma that warmth takes away."""
    _refuse_temperature(temperature_celsius)
    return constants.ch * temperature_celsius + constants.cq * temperature_celsius**2


def sigma_days(
    constants: StorageConstants, moisture_percent: float, temperature_celsius: float
) -> float:
    """Days in which seed loses one probit, as from 97.7 to 84.1 % or from 84.1 to 50 %.

    Parameters
    ----------
    constants : StorageConstants
        Of this very taxon.
    moisture_percent : float
        Water in percent of fresh weight, above 0 and below 100.
    temperature_celsius : float
        Degrees Celsius.

    Raises
    ------
    BadInput
        For a moisture or temperature that cannot be.

    Examples
    --------
    >>> from seedbank.calc.viability.constants import published_constants
    >>> rice, = published_constants("Oryza sativa")
    >>> round(sigma_days(rice, moisture_percent=10, temperature_celsius=5), 3)
    5382.388

    """
    if not 0 < moisture_percent < 100:
        raise BadInput(
            "Moisture is a percentage of fresh weight, above 0 and below 100.",
            field="moisture_percent",
        )
    exponent = (
        constants.ke
        - constants.cw * math.log10(moisture_percent)
        - temperature_term(constants, temperature_celsius)
    )
    return float(10.0**exponent)


def _refuse_temperature(temperature_celsius: float) -> None:
    if not -273.15 <= temperature_celsius <= 200:
        raise BadInput(
            "That is no temperature for seed, in degrees Celsius.", field="temperature_celsius"
        )
