"""Whether the replicates of one germination test agree as well as chance allows."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from scipy.special import chdtrc

from crosses.calc.errors import BadInput
from crosses.calc.rates import Share, sentence, whole_number, whole_percent, wilson
from seedbank.calc.germination.tolerance import maximum_difference, maximum_range

Verdict = Literal["accept", "retest", "not in table", "interval instead"]

SEEDS_OF_THE_TABLE = 100
# Above this, sowings differ more than chance alone makes them. Common practice, no source.
HIGHEST_FAIR_RATIO = 1.5


@dataclass(frozen=True, slots=True)
class ReplicateCheck:
    """What the tolerance table says of one test.

    Attributes
    ----------
    average_percent : int
        Average rounded to a whole percent, halves up.
    spread_percent : int or Fraction
        Highest less lowest replicate.
    tolerated_percent : int or None
        From the table; None where it does not apply.
    verdict : str
        ``"accept"``, ``"retest"``, ``"not in table"`` or ``"interval instead"``.
    share : Share
        All seeds of the test together, with their interval.
    sentence : str
        All of it in words.

    """

    average_percent: int
    spread_percent: int | Fraction
    tolerated_percent: int | None
    verdict: Verdict
    share: Share
    sentence: str


@dataclass(frozen=True, slots=True)
class Heterogeneity:
    """How much more than chance several sowings of one kind differ.

    Attributes
    ----------
    chi_square : float or None
        Pearson's, about their common share; None when none or all came.
    degrees_of_freedom : int
        Sowings less one.
    ratio : float or None
        ``chi_square / degrees_of_freedom``; near 1 when chance alone is at work.
    p_value : float or None
        Chance of so much scatter, or more, from seeds alone.
    is_more_than_chance : bool
        Whether the ratio is above 1.5, so that seeds may not be counted as independent.
    sentence : str
        All of it in words.

    """

    chi_square: float | None
    degrees_of_freedom: int
    ratio: float | None
    p_value: float | None
    is_more_than_chance: bool
    sentence: str


def check_replicates(percents: Sequence[int], seeds_each: int = 100) -> ReplicateCheck:
    """Hold the replicates of one test against the tolerance table of 7 CFR 201.55.

    Parameters
    ----------
    percents : sequence of int
        Percentage that came up in each replicate.
    seeds_each : int
        Seeds in each replicate. The table is for 100 and for two or four replicates; for anything
        else there is an interval and no verdict.

    Raises
    ------
    BadInput
        If there are no replicates, a percentage is out of range, or a percentage does not stand
        for a whole number of seeds.

    Notes
    -----
    The regulation asks for the average in whole percent and does not say what becomes of a half;
    it is rounded up here.

    Examples
    --------
    >>> check_replicates([96, 92, 90, 88]).sentence
    'Average 92 %, range 8 of at most 11: the replicates agree.'
    >>> check_replicates([99, 90, 88, 85]).verdict
    'retest'

    """
    seeds = whole_number(seeds_each, "seeds_each")
    if seeds < 1:
        raise BadInput("A replicate has at least one seed.", field="seeds_each")
    if len(percents) == 0:
        raise BadInput("A test has at least one replicate.", field="percents")
    came = [_seeds_come(percent, seeds) for percent in percents]
    share = wilson(sum(came), seeds * len(came))
    average = whole_percent(Fraction(share.x, share.n))
    spread = _plain(Fraction(100 * (max(came) - min(came)), seeds))
    if seeds != SEEDS_OF_THE_TABLE or len(came) not in (2, 4):
        words = f"{sentence(share)}; the tolerance table is for two or four replicates of 100."
        return ReplicateCheck(average, spread, None, "interval instead", share, words)
    tolerated = maximum_range(average, len(came))
    if tolerated is None:
        words = f"{sentence(share)}; an average of {average} % is not in the tolerance table."
        return ReplicateCheck(average, spread, None, "not in table", share, words)
    agree = spread <= tolerated
    outcome = "the replicates agree." if agree else "the test is to be repeated."
    words = f"Average {average} %, range {spread} of at most {tolerated}: {outcome}"
    return ReplicateCheck(average, spread, tolerated, "accept" if agree else "retest", share, words)


def check_two_tests(first_percent: int, second_percent: int) -> ReplicateCheck:
    """Hold two tests of 400 seeds of one lot against the tolerance table for two tests.

    Parameters
    ----------
    first_percent, second_percent : int
        Whole percent that came up in each.

    Raises
    ------
    BadInput
        If a percentage is out of range or not whole.

    Examples
    --------
    >>> check_two_tests(88, 81).sentence
    'Average 85 %, difference 7 of at most 7: the two tests agree.'

    """
    seeds = 400
    came = [_seeds_come(percent, seeds) for percent in (first_percent, second_percent)]
    share = wilson(sum(came), 2 * seeds)
    average = whole_percent(Fraction(share.x, share.n))
    difference = abs(first_percent - second_percent)
    tolerated = maximum_difference(average)
    if tolerated is None:
        words = f"{sentence(share)}; an average of {average} % is not in the tolerance table."
        return ReplicateCheck(average, difference, None, "not in table", share, words)
    agree = difference <= tolerated
    outcome = "the two tests agree." if agree else "a third test is needed."
    words = f"Average {average} %, difference {difference} of at most {tolerated}: {outcome}"
    return ReplicateCheck(
        average, difference, tolerated, "accept" if agree else "retest", share, words
    )


def heterogeneity(sowings: Sequence[tuple[int, int]]) -> Heterogeneity:
    """Measure how much more than chance several sowings of one kind differ.

    Parameters
    ----------
    sowings : sequence of (came, sown)
        At least two.

    Raises
    ------
    BadInput
        If there are fewer than two sowings, or counts that cannot be.

    Examples
    --------
    >>> heterogeneity([(10, 20), (10, 20), (10, 20)]).ratio
    0.0

    """
    if len(sowings) < 2:
        raise BadInput("Scatter is between at least two sowings.", field="sowings")
    shares = [wilson(came, sown) for came, sown in sowings if sown > 0]
    came, sown = sum(share.x for share in shares), sum(share.n for share in shares)
    freedom = len(shares) - 1
    if freedom < 1 or came in (0, sown):
        words = "None or all of the seeds came, so the sowings cannot differ."
        return Heterogeneity(None, freedom, None, None, is_more_than_chance=False, sentence=words)
    mean = came / sown
    squares = sum((share.x - share.n * mean) ** 2 / share.n for share in shares)
    chi_square = squares / (mean * (1 - mean))
    ratio = chi_square / freedom
    is_more = ratio > HIGHEST_FAIR_RATIO
    verdict = "more than chance" if is_more else "no more than chance would make them"
    return Heterogeneity(
        chi_square=chi_square,
        degrees_of_freedom=freedom,
        ratio=ratio,
        p_value=float(chdtrc(freedom, chi_square)),
        is_more_than_chance=is_more,
        sentence=f"{len(shares)} sowings differ {verdict} (ratio {ratio:.1f}, {sown} seeds).",
    )


def _seeds_come(percent: int, seeds: int) -> int:
    if not 0 <= percent <= 100:
        raise BadInput("A replicate lies between 0 and 100 percent.", field="percents")
    came = Fraction(str(percent)) * seeds / 100
    if came.denominator != 1:
        raise BadInput(
            f"{percent} % of {seeds} seeds is not a whole number of seeds.", field="percents"
        )
    return int(came)


def _plain(number: Fraction) -> int | Fraction:
    return number.numerator if number.denominator == 1 else number
