"""Shares of a counted number, each with its interval.

A bare percentage hides how little stands behind it: 2 of 3 looks better than 14 of 16. Every rate
in the service (flowers that took, seeds that came up) is a :class:`Share`, which carries its count.
"""

import math
import operator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, SupportsIndex

from scipy.special import betaincinv, ndtri

from crosses.calc.errors import BadInput

Method = Literal["wilson", "exact", "pooled"]

# Below ten, even the clearest answer leaves much open: 0 of 9 still allows 30 in a hundred.
# Common practice, no source.
FEWEST_TO_SAY = 10


@dataclass(frozen=True, slots=True)
class Share:
    """A share `x` of `n` with its interval; all three numbers are fractions of one, not percent.

    Attributes
    ----------
    x, n : int
        How many did, of how many that could.
    estimate : float or None
        ``x / n``; None when nothing was tried.
    low, high : float
        Ends of the interval. With nothing tried they are 0 and 1: any share is possible.
    method : str
        ``"wilson"`` or ``"exact"``; ``"pooled"`` where the interval allows for scatter between sowings.
    confidence : float
        How often such an interval holds the truth, for example 0.95.

    """

    x: int
    n: int
    estimate: float | None
    low: float
    high: float
    method: Method
    confidence: float


def wilson(x: SupportsIndex, n: SupportsIndex, confidence: float = 0.95) -> Share:
    """Share with the score interval, the one shown on pages.

    Parameters
    ----------
    x, n : int
        How many did, of how many that could; ``0 <= x <= n``.
    confidence : float
        Between 0 and 1.

    Raises
    ------
    BadInput
        If a number is negative or not whole, if `x` exceeds `n`, or `confidence` is out of range.

    Notes
    -----
    Wilson (1927), Journal of the American Statistical Association 22, 209-212. The lower end is
    exactly 0 when none did and the upper end exactly 1 when all did.

    Examples
    --------
    >>> share = wilson(18, 20)
    >>> round(share.low, 3), round(share.high, 3)
    (0.699, 0.972)

    """
    did, of = _checked(x, n, confidence)
    if of == 0:
        return Share(0, 0, None, 0.0, 1.0, "wilson", confidence)
    low, high = score_ends(did / of, of, confidence)
    return Share(did, of, did / of, low, high, "wilson", confidence)


def score_ends(estimate: float, n: float, confidence: float) -> tuple[float, float]:
    """Give the ends of the score interval about an estimate that need not be one count over another.

    >>> low, high = score_ends(0.9, 20, 0.95)
    >>> round(low, 3), round(high, 3)
    (0.699, 0.972)
    """
    z = normal_quantile(0.5 + confidence / 2)
    centre = estimate + z * z / (2 * n)
    reach = z * math.sqrt(estimate * (1 - estimate) / n + z * z / (4 * n * n))
    widened = 1 + z * z / n
    low = 0.0 if estimate == 0 else (centre - reach) / widened
    high = 1.0 if estimate == 1 else (centre + reach) / widened
    return low, high


def exact(x: SupportsIndex, n: SupportsIndex, confidence: float = 0.95) -> Share:
    """Share with the interval that never holds the truth less often than it says.

    Wider than :func:`wilson`; used where a claim hangs on one end, as in "probably under 18 %".

    Parameters
    ----------
    x, n : int
        How many did, of how many that could; ``0 <= x <= n``.
    confidence : float
        Between 0 and 1.

    Raises
    ------
    BadInput
        If a number is negative or not whole, if `x` exceeds `n`, or `confidence` is out of range.

    Notes
    -----
    Clopper and Pearson (1934), Biometrika 26, 404-413: quantiles of two beta distributions.

    Examples
    --------
    >>> share = exact(0, 15)
    >>> share.low, round(share.high, 3)
    (0.0, 0.218)

    """
    did, of = _checked(x, n, confidence)
    if of == 0:
        return Share(0, 0, None, 0.0, 1.0, "exact", confidence)
    tail = (1 - confidence) / 2
    low = 0.0 if did == 0 else float(betaincinv(did, of - did + 1, tail))
    high = 1.0 if did == of else float(betaincinv(did + 1, of - did, 1 - tail))
    return Share(did, of, did / of, low, high, "exact", confidence)


def normal_quantile(probability: float) -> float:
    """Give the standard normal deviate below which `probability` lies, ``0 < probability < 1``.

    >>> round(normal_quantile(0.975), 6)
    1.959964
    """
    return float(ndtri(probability))


def too_few(n: int) -> bool:
    """Whether `n` tries are too few to say anything of use about the rate.

    >>> too_few(9), too_few(10)
    (True, False)
    """
    return n < FEWEST_TO_SAY


def sentence(share: Share) -> str:
    """Write the share with its count and its interval, in whole percent.

    A share that is not quite none or not quite all is never rounded to 0 or to 100 %.

    >>> sentence(wilson(18, 20))
    '18 of 20 = 90 % (70-97 %)'
    >>> sentence(wilson(0, 0))
    'nothing tried yet'
    """
    if share.n == 0:
        return "nothing tried yet"
    low, high = whole_percent(share.low), whole_percent(share.high)
    return f"{share.x} of {share.n} = {_percent_words(share)} ({low}-{high} %)"


def whole_percent(fraction: float | Fraction) -> int:
    """Write a fraction of one as a whole percent, halves rounded up.

    >>> whole_percent(Fraction(1, 8)), whole_percent(0.5)
    (13, 50)
    """
    return math.floor(100 * fraction + Fraction(1, 2))


def _percent_words(share: Share) -> str:
    percent = whole_percent(Fraction(share.x, share.n))
    if percent == 0 and share.x > 0:
        return "under 1 %"
    if percent == 100 and share.x < share.n:
        return "over 99 %"
    return f"{percent} %"


def _checked(x: SupportsIndex, n: SupportsIndex, confidence: float) -> tuple[int, int]:
    did, of = whole_number(x, "x"), whole_number(n, "n")
    if did < 0 or of < 0:
        raise BadInput("A count cannot be below nought.", field="x" if did < 0 else "n")
    if did > of:
        raise BadInput(f"{did} of {of} cannot be: more came than were tried.", field="x")
    if not 0 < confidence < 1:
        raise BadInput(
            "The confidence is a fraction between 0 and 1, for example 0.95.", field="confidence"
        )
    return did, of


def whole_number(value: SupportsIndex, field: str) -> int:
    """Return `value` as an int, refusing 2.5 and "three" with a sentence for `field`.

    >>> whole_number(3, "sown")
    3
    """
    try:
        return operator.index(value)
    except TypeError as problem:
        raise BadInput("Count in whole numbers.", field=field) from problem


def written_percent(share: float) -> str:
    """Write a share as whole percent, and nothing as 0, from whichever side it was reckoned.

    Examples
    --------
    >>> written_percent(0.617), written_percent(-0.0004)
    ('62', '0')

    """
    return f"{100 * share:z.0f}"
