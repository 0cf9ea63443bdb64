"""What to expect of a stored lot today, and until when, from the best that is known of it.

Two tests of its own at different ages come first; then published constants for its very taxon with
the conditions of its store and at least one test; then nothing but the last test as it stood. A
relative's constants are never used, and the thumb rule gives a factor, never a date.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from crosses.calc.errors import BadInput
from crosses.calc.rates import wilson
from seedbank.calc.viability.constants import StorageConstants
from seedbank.calc.viability.equation import range_warnings, sigma_days
from seedbank.calc.viability.fit import AgeingFit, Estimate, SeedTest, fit_start, fit_tests
from seedbank.calc.viability.genebank import (
    KEPT_OF_THE_INITIAL,
    first_test_by,
    retest_interval_days,
)
from seedbank.calc.viability.thumbrules import LifeFactor, harrington_factor

# Our own choice: when half is expected to be left, a packet is no longer what its buyer hopes for.
SOW_BEFORE_SHARE = 0.5

# What a store is held against by the thumb rule: seed in paper in a lived-in room (our own choice).
ROOM_MOISTURE_PERCENT = 9.0
ROOM_TEMPERATURE_CELSIUS = 20.0


class Method(StrEnum):
    """What an outlook rests on."""

    OWN_TESTS = "own tests"
    PUBLISHED_CONSTANTS = "published constants"
    LAST_TEST = "last test"
    NOTHING = "nothing"


@dataclass(frozen=True)
class Storage:
    """Conditions of a store; None where nobody measured.

    Parameters
    ----------
    moisture_percent : float or None
        Water in the seed, percent of fresh weight.
    temperature_celsius : float or None
        Degrees Celsius.
    is_long_lived : bool
        Seed known to keep long; only matters to the retest interval where nothing is predicted.

    """

    moisture_percent: float | None = None
    temperature_celsius: float | None = None
    is_long_lived: bool = False


@dataclass(frozen=True)
class ByDate:
    """A day with its 95 % interval; None is later than a hundred years after storage began."""

    expected: date | None
    earliest: date | None
    latest: date | None


@dataclass(frozen=True)
class Outlook:
    """What to expect of a lot.

    Parameters
    ----------
    method : Method
        What it rests on.
    share : Estimate or None
        Share expected to germinate today, or as last tested where nothing can be predicted.
    sow_by, regenerate_by : ByDate or None
        When half is left, and when 85 % of the initial viability is left; None without a
        prediction.
    next_test_on : date
        Day of the next germination test.
    thumb_rule : LifeFactor or None
        How much longer this store keeps seed than a room, where nothing better is known.
    basis : str
        Sentence saying how all this was reckoned.
    warnings : tuple of str
        What to keep in mind.

    """

    method: Method
    share: Estimate | None
    sow_by: ByDate | None
    regenerate_by: ByDate | None
    next_test_on: date
    thumb_rule: LifeFactor | None
    basis: str
    warnings: tuple[str, ...]


def expected_today(
    tests: Sequence[SeedTest],
    *,
    taxon: str,
    constants: StorageConstants | None,
    storage: Storage,
    stored_on: date,
    today: date,
) -> Outlook:
    """Share to expect of a lot today, with when to sow, test and regenerate it.

    Parameters
    ----------
    tests : sequence of SeedTest
        Tests of this lot, ages counted from `stored_on`.
    taxon : str
        Name of the lot, for the sentences.
    constants : StorageConstants or None
        Of this very taxon, one of `published_constants`; None if there are none.
    storage : Storage
        Conditions since `stored_on`.
    stored_on, today : date
        Start of storage and the day asked about.

    Raises
    ------
    BadInput
        If today is before the storage began, a test is younger than today, or a test cannot be.

    """
    age_days = (today - stored_on).days
    if age_days < 0:
        raise BadInput("The lot cannot have been stored after today.", field="stored_on")
    if any(test.age_days > age_days for test in tests):
        raise BadInput("A test cannot be later than today.", field="tests")
    found = _best_fit(tests, constants, storage)
    if found is None:
        return _unpredicted(tests, taxon, constants, storage, stored_on)
    fit, method, basis = found
    grow_on_age = fit.age_when_left(KEPT_OF_THE_INITIAL)
    last_age_days = _last(tests).age_days
    interval_days = retest_interval_days(
        days_to_threshold=grow_on_age.value if math.isfinite(grow_on_age.value) else None,
        is_long_lived=storage.is_long_lived or method is Method.PUBLISHED_CONSTANTS,
        temperature_celsius=storage.temperature_celsius,
        soonest_days_left=grow_on_age.low - last_age_days,
    )
    return Outlook(
        method=method,
        share=fit.share_at(age_days),
        sow_by=_dates(fit.age_when(SOW_BEFORE_SHARE), stored_on),
        regenerate_by=_dates(grow_on_age, stored_on),
        next_test_on=_day(last_age_days + interval_days, stored_on),
        thumb_rule=None,
        basis=basis,
        warnings=_storage_warnings(storage),
    )


def _best_fit(
    tests: Sequence[SeedTest], constants: StorageConstants | None, storage: Storage
) -> tuple[AgeingFit, Method, str] | None:
    if len({test.age_days for test in tests}) >= 2:
        fit = fit_tests(tests)
        return fit, Method.OWN_TESTS, _own_basis(fit)
    moisture, temperature = storage.moisture_percent, storage.temperature_celsius
    if not tests or constants is None or moisture is None or temperature is None:
        return None
    fit = fit_start(tests, sigma=sigma_days(constants, moisture, temperature))
    basis = (
        f"Viability equation of Ellis & Roberts 1980 with the constants of {constants.paper} for "
        f"{constants.taxon} at {moisture:g} % moisture and {temperature:g} °C, started from "
        f"{_tests_in_words(tests)}; the interval is the test's alone, not the constants'."
    )
    if constants.is_weak:
        basis += " Weak: these constants come from one storage temperature."
    return fit, Method.PUBLISHED_CONSTANTS, basis


def _own_basis(fit: AgeingFit) -> str:
    basis = (
        f"From {fit.tests} tests of this lot ({fit.seeds} seeds): probit regression on age, 95 % "
        "likelihood interval."
    )
    if fit.scatter > 1:
        basis += f" The tests scatter more than chance; variance taken {fit.scatter:.1f} times."
    if fit.probits_lost_per_day == 0:
        basis += " They show no fall yet, so no date is expected, only a soonest one."
    return basis


def _unpredicted(
    tests: Sequence[SeedTest],
    taxon: str,
    constants: StorageConstants | None,
    storage: Storage,
    stored_on: date,
) -> Outlook:
    if constants is None:
        reason = f"No published constants for {taxon}"
    elif not tests:
        reason = "This lot was never tested"
    else:
        reason = "Moisture and temperature of the store are not both known"
    if not tests:
        return Outlook(
            method=Method.NOTHING,
            share=None,
            sow_by=None,
            regenerate_by=None,
            next_test_on=first_test_by(stored_on),
            thumb_rule=_against_a_room(storage),
            basis=f"{reason}; test a few seeds within twelve months of storage.",
            warnings=_storage_warnings(storage),
        )
    last = _last(tests)
    share = wilson(
        sum(test.germinated for test in tests if test.age_days == last.age_days),
        sum(test.sown for test in tests if test.age_days == last.age_days),
    )
    interval_days = retest_interval_days(
        days_to_threshold=None,
        is_long_lived=storage.is_long_lived,
        temperature_celsius=storage.temperature_celsius,
    )
    return Outlook(
        method=Method.LAST_TEST,
        share=Estimate(share.x / share.n, share.low, share.high),
        sow_by=None,
        regenerate_by=None,
        next_test_on=_day(last.age_days + interval_days, stored_on),
        thumb_rule=_against_a_room(storage),
        basis=(
            f"{reason}; the share is that of {_tests_in_words(tests)} on "
            f"{_day(last.age_days, stored_on).isoformat()}, not of today. A second test at another "
            "age would show how fast this lot ages."
        ),
        warnings=_storage_warnings(storage),
    )


def _tests_in_words(tests: Sequence[SeedTest]) -> str:
    seeds = sum(test.sown for test in tests)
    return f"{len(tests)} test{'' if len(tests) == 1 else 's'} of {seeds} seeds"


def _last(tests: Sequence[SeedTest]) -> SeedTest:
    return max(tests, key=lambda test: test.age_days)


def _storage_warnings(storage: Storage) -> tuple[str, ...]:
    if storage.moisture_percent is None or storage.temperature_celsius is None:
        return ()
    return range_warnings(storage.moisture_percent, storage.temperature_celsius)


def _against_a_room(storage: Storage) -> LifeFactor | None:
    if storage.moisture_percent is None or storage.temperature_celsius is None:
        return None
    try:
        return harrington_factor(
            from_moisture_percent=ROOM_MOISTURE_PERCENT,
            to_moisture_percent=storage.moisture_percent,
            from_temperature_celsius=ROOM_TEMPERATURE_CELSIUS,
            to_temperature_celsius=storage.temperature_celsius,
        )
    except BadInput:
        # Outside its range, as in any freezer, the rule has nothing to say.
        return None


def _dates(age: Estimate, stored_on: date) -> ByDate:
    expected, earliest, latest = (
        _day(days, stored_on) if math.isfinite(days) else None
        for days in (age.value, age.low, age.high)
    )
    return ByDate(expected, earliest, latest)


def _day(age_days: float, stored_on: date) -> date:
    return stored_on + timedelta(days=math.floor(age_days))
