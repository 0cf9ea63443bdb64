"""When to test a stored lot again, and when to raise fresh seed of it.

After the Genebank Standards for Plant Genetic Resources for Food and Agriculture (FAO). The first
test within twelve months and the 85 % wanted at the start were read in a public copy of sections
4.3.1 and 4.3.2. The retest interval (4.3.3) and the 85 % of the initial viability (4.3.4) are kept
from memory: look them up before quoting them as FAO's words.
"""

import math
from dataclasses import dataclass
from datetime import date, timedelta

from crosses.calc.errors import BadInput
from crosses.calc.rates import Share, wilson

WANTED_AT_THE_START = 0.85
KEPT_OF_THE_INITIAL = 0.85
FIRST_TEST_WITHIN_DAYS = 365
LONGEST_RETEST_DAYS = 40 * 365.25
RETEST_DAYS_LONG_LIVED = 10 * 365.25
RETEST_DAYS_OTHERWISE = 5 * 365.25
DEEP_FROZEN_CELSIUS = -15.0
# Our own choice: tests that leave all open would else ask for the next one the day after.
SOONEST_RETEST_DAYS = 365

MOST_SEEDS_FOR_A_TEST = 20
MOST_OF_THE_LOT_FOR_A_TEST = 0.10


@dataclass(frozen=True)
class RegenerationVerdict:
    """Whether a lot should be grown on for fresh seed.

    Parameters
    ----------
    is_due : bool
        The latest share is below the threshold.
    is_certain : bool
        The whole interval of the latest test lies on that side of it.
    threshold : float
        Share below which the lot is grown on.
    latest : Share
        The latest test, with its interval.
    started_low : bool
        The first test was below 85 %, so the lot never was as good as the standard wants.
    sentence : str
        All this for a person.

    """

    is_due: bool
    is_certain: bool
    threshold: float
    latest: Share
    started_low: bool
    sentence: str


def regeneration_verdict(
    *, initial_share: float, latest_germinated: int, latest_sown: int
) -> RegenerationVerdict:
    """Hold the latest test against 85 % of the initial viability.

    Raises
    ------
    BadInput
        If the initial share is not between 0 and 1, or the counts are not those of a test.

    Examples
    --------
    >>> regeneration_verdict(initial_share=0.92, latest_germinated=79, latest_sown=100).is_due
    False
    >>> regeneration_verdict(initial_share=0.92, latest_germinated=78, latest_sown=100).is_due
    True

    """
    if not 0 < initial_share <= 1:
        raise BadInput("The first test must have found living seed.", field="initial_share")
    if latest_sown < 1:
        raise BadInput("A test needs at least one seed.", field="latest_sown")
    threshold = KEPT_OF_THE_INITIAL * initial_share
    latest = wilson(latest_germinated, latest_sown)
    share = latest_germinated / latest_sown
    is_due = share < threshold
    is_certain = latest.high < threshold if is_due else latest.low >= threshold
    sentence = (
        f"{latest_germinated} of {latest_sown} germinated ({share:.0%}); the lot started at "
        f"{initial_share:.0%} and is grown on below {threshold:.1%}: "
        f"{'grow it on' if is_due else 'keep it'}"
        f"{'' if is_certain else ', though the test is too small to be sure'}."
    )
    started_low = initial_share < WANTED_AT_THE_START
    if started_low:
        sentence += " It started below the 85 % wanted of most cultivated plants."
    return RegenerationVerdict(is_due, is_certain, threshold, latest, started_low, sentence)


def retest_interval_days(
    *,
    days_to_threshold: float | None,
    is_long_lived: bool,
    temperature_celsius: float | None,
    soonest_days_left: float = math.inf,
) -> float:
    """Days from one test of a stored lot to the next.

    Parameters
    ----------
    days_to_threshold : float or None
        Predicted days until viability is 85 % of the initial; None if there is no prediction.
    is_long_lived : bool
        Known to be long-lived seed; only asked when there is no prediction.
    temperature_celsius : float or None
        Of the store; a long interval without a prediction is for deep-frozen seed only.
    soonest_days_left : float
        Days from the last test to the lower end of the interval of that prediction. Few tests, or
        tests that scatter, leave a fall open that their likeliest line does not show: the next test
        is to find it, though not within a year of the last.

    Examples
    --------
    >>> asked = {"is_long_lived": False, "temperature_celsius": 4.0}
    >>> retest_interval_days(days_to_threshold=3000, **asked)
    1000.0
    >>> retest_interval_days(days_to_threshold=3000, **asked, soonest_days_left=600)
    600
    >>> retest_interval_days(days_to_threshold=None, **asked, soonest_days_left=-40)
    365

    """
    is_frozen = temperature_celsius is not None and temperature_celsius <= DEEP_FROZEN_CELSIUS
    if days_to_threshold is not None:
        interval = min(days_to_threshold / 3, LONGEST_RETEST_DAYS)
    else:
        interval = RETEST_DAYS_LONG_LIVED if is_long_lived and is_frozen else RETEST_DAYS_OTHERWISE
    return min(interval, max(soonest_days_left, SOONEST_RETEST_DAYS))


def first_test_by(received_on: date) -> date:
    """Latest day for the first germination test of a lot: twelve months after it came.

    Examples
    --------
    >>> first_test_by(date(2026, 1, 31))
    datetime.date(2027, 1, 31)

    """
    return received_on + timedelta(days=FIRST_TEST_WITHIN_DAYS)


def most_seeds_to_test(seeds_in_lot: int) -> int:
    """Most seeds a test may spend: 20 or a tenth of the lot, whichever is less (our own choice).

    Genebanks test 200 where they can; a hobbyist's cross of 60 seeds cannot spare them.

    Raises
    ------
    BadInput
        If the lot has a negative number of seeds.

    Examples
    --------
    >>> most_seeds_to_test(62), most_seeds_to_test(4200)
    (6, 20)

    """
    if seeds_in_lot < 0:
        raise BadInput("A lot cannot hold fewer than no seeds.", field="seeds_in_lot")
    return min(MOST_SEEDS_FOR_A_TEST, int(seeds_in_lot * MOST_OF_THE_LOT_FOR_A_TEST))
