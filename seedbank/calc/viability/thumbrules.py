"""Harrington's thumb rules: rough factors, for seed of which nothing better is known.

Each percent less moisture doubles the life of seed, and so does each five degrees cooler. They are
rules of thumb for orthodox seed, they take no account of the species, and a factor says nothing
about how long the seed keeps to begin with.
"""

from dataclasses import dataclass

from crosses.calc.errors import BadInput

MOISTURE_RANGE_PERCENT = (5.0, 14.0)
TEMPERATURE_RANGE_CELSIUS = (0.0, 50.0)
GOOD_STORAGE_SUM = 100.0


@dataclass(frozen=True)
class LifeFactor:
    """How many times longer the second storage keeps seed than the first, and in what words."""

    times: float
    basis: str


@dataclass(frozen=True)
class StorageSum:
    """Relative humidity in percent plus temperature in degrees Fahrenheit, and its verdict."""

    total: float
    is_good: bool
    basis: str


def harrington_factor(
    *,
    from_moisture_percent: float,
    to_moisture_percent: float,
    from_temperature_celsius: float,
    to_temperature_celsius: float,
) -> LifeFactor:
    """How many times longer seed lives in the second storage than in the first.

    Raises
    ------
    BadInput
        Outside 5 to 14 % moisture or 0 to 50 °C, where the rules do not hold.

    Examples
    --------
    >>> harrington_factor(
    ...     from_moisture_percent=12, to_moisture_percent=10,
    ...     from_temperature_celsius=25, to_temperature_celsius=15,
    ... ).times
    16.0

    """
    for moisture in (from_moisture_percent, to_moisture_percent):
        if not MOISTURE_RANGE_PERCENT[0] <= moisture <= MOISTURE_RANGE_PERCENT[1]:
            raise BadInput(
                f"The thumb rule holds for 5 to 14 % moisture, not for {moisture:g} %.",
                field="moisture_percent",
            )
    for temperature in (from_temperature_celsius, to_temperature_celsius):
        if not TEMPERATURE_RANGE_CELSIUS[0] <= temperature <= TEMPERATURE_RANGE_CELSIUS[1]:
            raise BadInput(
                f"The thumb rule holds for 0 to 50 °C, not for {temperature:g} °C.",
                field="temperature_celsius",
            )
    doublings = (from_moisture_percent - to_moisture_percent) + (
        from_temperature_celsius - to_temperature_celsius
    ) / 5
    return LifeFactor(
        times=2.0**doublings,
        basis=(
            "Harrington's rule of thumb: life doubles with each 1 % less moisture and with each "
            "5 °C cooler. An estimate, whatever the species."
        ),
    )


def storage_sum(*, relative_humidity_percent: float, temperature_celsius: float) -> StorageSum:
    """Harrington's sum for a store: humidity in percent plus degrees Fahrenheit, good up to 100.

    Raises
    ------
    BadInput
        If the humidity is not between 0 and 100 %.

    """
    if not 0 <= relative_humidity_percent <= 100:
        raise BadInput(
            "Relative humidity lies between 0 and 100 %.", field="relative_humidity_percent"
        )
    total = relative_humidity_percent + temperature_celsius * 9 / 5 + 32
    # Celsius to Fahrenheit leaves a few units in the last place; 100 itself is good.
    return StorageSum(
        total=total,
        is_good=total <= GOOD_STORAGE_SUM + 1e-9,
        basis="Harrington's rule of thumb: humidity in % plus °F, good storage up to 100.",
    )
