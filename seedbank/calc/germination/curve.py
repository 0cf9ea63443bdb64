"""A curve of germination over time, fitted to what the looks can tell.

The share of all seeds sown that has come by day t is ``d F(t)``: ``d`` of the seeds come in the
end, half of those by day ``e``. Seeds not found are later than the last look or never. Where the
counts cannot settle such a curve, the answer says so and gives none.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crosses.calc.errors import BadInput
from crosses.calc.rates import normal_quantile, whole_percent, wilson
from seedbank.calc.germination.counts import Counts
from seedbank.calc.germination.fitting import (
    ALL_COME,
    FEWEST_SOWINGS_FOR_SCATTER,
    Fit,
    fit_family,
    share_interval,
    too_little,
)
from seedbank.calc.germination.likelihood import FURTHEST, SHAPES, Family, Seen, gather

Floats = NDArray[np.float64]

FAMILY_WORDS: dict[Family, str] = {
    "log_logistic": "log-logistic",
    "log_normal": "log-normal",
    "weibull": "Weibull",
}


@dataclass(frozen=True, slots=True)
class Estimate:
    """A fitted number and its interval; the standard error is None where there is no such thing."""

    value: float
    low: float
    high: float
    standard_error: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """What an identified curve was fitted to, and how."""

    family: Family
    fit: Fit
    seen: Seen
    confidence: float


@dataclass(frozen=True, slots=True)
class Curve:
    """A fitted curve, or the reason why there is none.

    Attributes
    ----------
    family : str
        ``"log_logistic"``, ``"log_normal"`` or ``"weibull"``.
    identified : bool
        Whether the counts settle a curve. If not, only the steps may be shown.
    why_not : str
        The reason in words; empty when identified.
    sown, germinated, sowings : int
        Seeds and sowings behind it.
    are_pots : bool
        Whether these are the pots of one sowing.
    germinable_share : Estimate or None
        ``d``, share of the seeds that come in the end. Without a curve it is the share seen so
        far, or None while seedlings were still coming.
    median_days : Estimate or None
        ``e``, the day by which half of *those that come* have come; never half of the seeds.
    steepness : Estimate or None
        ``b``, without unit; the higher, the closer together they come.
    log_likelihood : float or None
        At the fit, in natural logs.
    basis : str
        What the intervals take into account.
    sentence : str
        All of it in words.
    ground : Ground or None
        What it was fitted to; None when not identified.

    """

    family: Family
    identified: bool
    why_not: str
    sown: int
    germinated: int
    sowings: int
    are_pots: bool
    germinable_share: Estimate | None
    median_days: Estimate | None
    steepness: Estimate | None
    log_likelihood: float | None
    basis: str
    sentence: str
    ground: Ground | None = field(default=None, repr=False, compare=False)


def fit_curve(
    counts: Counts | Sequence[Counts],
    family: Family = "log_logistic",
    confidence: float = 0.95,
    *,
    are_pots: bool = False,
) -> Curve:
    """Fit a germination curve by maximum likelihood.

    Parameters
    ----------
    counts : Counts or sequence of Counts
        One sowing, or several taken as of one kind, whatever their days of looking.
    family : {"log_logistic", "log_normal", "weibull"}
        Shape of the curve.
    confidence : float
        Of the intervals, between 0 and 1.
    are_pots : bool
        Whether several are the pots of one sowing; it is said so in words.

    Returns
    -------
    Curve
        With ``identified`` False, and the reason, where no curve is settled.

    Raises
    ------
    BadInput
        If there is no sowing, or the family or confidence is unknown.

    Notes
    -----
    The likelihood is that of seeds found between two looks and of seeds not found by the last
    (time-to-event; Onofri, Mesgaran and Ritz 2022, Weed Science 70, 259-271, discuss it for
    germination). Least squares on running totals would give nearly the same curve and standard
    errors several times too small. Intervals of the median and the steepness come from the observed
    information on the scale of logarithms; that of the germinable share from the profile of the
    likelihood, which stays honest next to 1. From five sowings on, both are widened to the
    scatter between sowings (sandwich), since the seeds of one pot share its fate.

    Examples
    --------
    >>> from seedbank.calc.germination.counts import read_counts
    >>> new = [0, 0, 0, 0, 4, 17, 10, 7, 1, 0, 1, 0, 0, 0]
    >>> curve = fit_curve(read_counts(50, range(1, 15), new))
    >>> curve.sentence.split("; ")[0]
    '80 % (68-89 %) come in the end, half of those by day 6.1 (5.7-6.4)'

    """
    several = [counts] if isinstance(counts, Counts) else list(counts)
    if not several:
        raise BadInput("A curve needs at least one sowing.", field="counts")
    if family not in SHAPES:
        raise BadInput(f"No family of curves is called {family}.", field="family")
    if not 0 < confidence < 1:
        raise BadInput("The confidence is a fraction between 0 and 1.", field="confidence")
    seen = gather(several)
    blank = _blank(several, family, are_pots=are_pots)
    if reason := too_little(seen):
        return _refused(blank, reason, is_share_known=True, confidence=confidence)
    fit = fit_family(seen, family)
    if fit is None:
        return _refused(
            blank,
            "The looks are too few or too far apart to tell how closely together the seeds came.",
            is_share_known=True,
            confidence=confidence,
        )
    if fit.parameters[2] >= ALL_COME and blank.germinated < blank.sown:
        least = share_interval(fit, seen, family, confidence)[0]
        return _refused(
            blank,
            "The counts have not levelled off: the fitted share that comes in the end runs up to "
            f"all of the seeds, so it is not identified; at least {whole_percent(least)} % come "
            f"({whole_percent(confidence)} %).",
            is_share_known=False,
            confidence=confidence,
        )
    return _told(blank, fit, seen, confidence)


def share_come(curve: Curve, days: ArrayLike) -> Floats:
    """Share of all seeds sown that the curve has come by each day, for drawing it.

    Parameters
    ----------
    curve : Curve
        An identified one.
    days : array of float
        Days after sowing, not negative.

    Raises
    ------
    BadInput
        If the curve is not identified.

    """
    share, median_days, steepness = _parameters(curve)
    with np.errstate(divide="ignore"):
        u = steepness * np.log(np.asarray(days, dtype=np.float64) / median_days)
    come: Floats = share * -np.expm1(
        SHAPES[curve.family].log_waiting(np.clip(u, -FURTHEST, FURTHEST))
    )
    return come


def ground_of(curve: Curve) -> Ground:
    """Return what a curve stands on, for what else may be asked of it.

    Raises
    ------
    BadInput
        If the curve is not identified.

    """
    if curve.ground is None:
        raise BadInput(curve.why_not, field="curve")
    return curve.ground


def _parameters(curve: Curve) -> tuple[float, float, float]:
    if curve.germinable_share is None or curve.median_days is None or curve.steepness is None:
        raise BadInput(curve.why_not, field="curve")
    return curve.germinable_share.value, curve.median_days.value, curve.steepness.value


def _told(blank: Curve, fit: Fit, seen: Seen, confidence: float) -> Curve:
    z = normal_quantile(0.5 + confidence / 2)
    median_days, steepness = (
        Estimate(
            value=math.exp(log_value),
            low=math.exp(log_value - z * error),
            high=math.exp(log_value + z * error),
            standard_error=math.exp(log_value) * error,
        )
        for log_value, error in zip(
            fit.parameters[:2].tolist(), fit.errors[:2].tolist(), strict=True
        )
    )
    share = float(fit.parameters[2])
    low, high = share_interval(fit, seen, blank.family, confidence)
    at_the_end = share >= ALL_COME
    come = Estimate(
        value=1.0 if at_the_end else share,
        low=low,
        high=high,
        standard_error=None if at_the_end else float(fit.errors[2]),
    )
    one = "pot" if blank.are_pots else "sowing"
    sowings = f"{blank.sowings} {one}{'s' if blank.sowings > 1 else ''}"
    return replace(
        blank,
        identified=True,
        germinable_share=come,
        median_days=median_days,
        steepness=steepness,
        log_likelihood=fit.value,
        ground=Ground(blank.family, fit, seen, confidence),
        sentence=(
            f"{whole_percent(come.value)} % ({whole_percent(low)}-{whole_percent(high)} %) come in "
            f"the end, half of those by day {median_days.value:.1f} "
            f"({median_days.low:.1f}-{median_days.high:.1f}); {FAMILY_WORDS[blank.family]} curve "
            f"from {blank.germinated} of {blank.sown} seeds in {sowings}, {blank.basis}."
        ),
    )


def _blank(several: Sequence[Counts], family: Family, *, are_pots: bool) -> Curve:
    """Make a curve that knows what it is made from and nothing else yet."""
    has_scatter = len(several) >= FEWEST_SOWINGS_FOR_SCATTER
    of_many = "pots" if are_pots else "sowings"
    return Curve(
        family=family,
        identified=False,
        why_not="",
        sown=sum(counts.sown for counts in several),
        germinated=sum(counts.germinated for counts in several),
        sowings=len(several),
        are_pots=are_pots,
        germinable_share=None,
        median_days=None,
        steepness=None,
        log_likelihood=None,
        basis=f"widened to the scatter between {of_many}"
        if has_scatter
        else "each seed taken for itself",
        sentence="",
    )


def _refused(blank: Curve, reason: str, *, is_share_known: bool, confidence: float) -> Curve:
    seen = wilson(blank.germinated, blank.sown, confidence)
    share = Estimate(blank.germinated / blank.sown, seen.low, seen.high, None)
    return replace(
        blank,
        why_not=reason,
        germinable_share=share if is_share_known else None,
        sentence=reason,
    )
