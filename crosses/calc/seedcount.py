"""Seeds counted by weight, and how many packets they fill.

Nobody counts four thousand seeds. Counted samples are weighed, the clean seed is weighed, and the
number follows, with its doubt: a capsule's seed is not all of one weight, and a sample of three
says little about how unlike they are.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, inf, log10, sqrt

from scipy.special import stdtrit

from crosses.calc.errors import BadInput

CONFIDENCE = 0.95

# Samples that differ by more were not drawn alike (chaff in one, the small seed at the bottom).
SCATTER_LIMIT_PERCENT = 10.0

# Below 0.01 g a thousand, or 100,000 seeds to the gram, a sample of 100 weighs under a milligram,
# the last digit of a good laboratory balance: common practice, no source.
DUST_THOUSAND_SEED_WEIGHT_GRAMS = 0.01

# International Rules for Seed Testing, chapter 10: limits of the coefficient of variation, and the
# second weighing (from memory; the formula is also in AOSA Rules, appendix 4).
REPLICATES = 8
CV_LIMIT_PERCENT = 4.0
CV_LIMIT_CHAFFY_PERCENT = 6.0
_STANDARD_DEVIATIONS_KEPT = 2.0


@dataclass(frozen=True)
class SeedCount:
    """A number of seeds reckoned from weighed samples.

    Attributes
    ----------
    seeds : int
        The estimate, to the seed.
    low, high : int or None
        95 % interval: the estimate less and plus Student's t times its standard error. This and the
        next two are None from one sample, or from samples that weigh exactly alike: they say
        nothing about scatter.
    standard_error : float or None
        Of the estimate, in seeds.
    cv_percent : float or None
        Scatter of the samples' weight per seed, in percent of its mean.
    thousand_seed_weight_grams : float
    samples : int
        How many samples were weighed.
    rounded : int
        The estimate to as many digits as it deserves, for labels and lists.
    sentence : str
        The count as it may be shown, with its doubt and how it was reckoned.
    """

    seeds: int
    low: int | None
    high: int | None
    standard_error: float | None
    cv_percent: float | None
    thousand_seed_weight_grams: float
    samples: int
    rounded: int
    sentence: str


@dataclass(frozen=True)
class ThousandSeedWeight:
    """A thousand-seed weight by the replicate method.

    Attributes
    ----------
    thousand_seed_weight_grams : float
        From the replicates kept.
    low, high : float
        95 % interval in grams, by Student's t.
    cv_percent : float
        Coefficient of variation of all replicates weighed.
    cv_limit_percent : float
        4.0, or 6.0 for chaffy seed.
    replicates : int
        How many the weight rests on.
    discarded_grams : tuple of float
        Replicates of a second weighing further than twice the standard deviation from the mean.
    is_accepted : bool
        False: weigh eight replicates more and hand in all sixteen.
    sentence : str
        The verdict in words.
    """

    thousand_seed_weight_grams: float
    low: float
    high: float
    cv_percent: float
    cv_limit_percent: float
    replicates: int
    discarded_grams: tuple[float, ...]
    is_accepted: bool
    sentence: str


@dataclass(frozen=True)
class PacketCount:
    """Packets that a number of seeds fills.

    Attributes
    ----------
    packets : int
        Full packets if the number of seeds is right.
    remainder : int
        Seeds over when those are filled, those kept back not among them.
    promised : int
        Full packets one can promise: 95 times in 100 at least so many can be filled.
    """

    packets: int
    remainder: int
    promised: int


def count_from_samples(samples: Sequence[tuple[int, float]], clean_grams: float) -> SeedCount:
    """Return the number of seeds in a weight of clean seed, from counted and weighed samples.

    The weight of one seed is all the samples' grams over all their seeds. Samples of unequal size
    scatter about it as 1 over the square root of their size, and are weighed accordingly; with
    samples of one size this is their mean and its usual standard error. The interval uses
    Student's t on one degree of freedom less than there are samples, carried over to the count at
    the same relative width.

    Parameters
    ----------
    samples : sequence of (seeds, grams)
        Each sample's number of seeds and its weight.
    clean_grams : float
        Weight of all the clean seed, the samples put back.

    Raises
    ------
    BadInput
        If there is no sample, a number is not above zero, a sample weighs more than the whole, or
        they scatter by more than 10 %.

    Examples
    --------
    >>> count_from_samples([(1000, 0.41), (1000, 0.40), (1000, 0.42)], 1.72).sentence
    'about 4,200 seeds (95 % 3,940-4,450; 3 weighed samples, t with 2 degrees of freedom)'
    """
    _require_samples(samples, clean_grams)
    seeds_weighed = sum(seeds for seeds, _ in samples)
    grams_each = sum(grams for _, grams in samples) / seeds_weighed
    estimate = clean_grams / grams_each
    thousand_seed_weight_grams = 1000 * grams_each
    is_dust = thousand_seed_weight_grams < DUST_THOUSAND_SEED_WEIGHT_GRAMS
    if len({grams / seeds for seeds, grams in samples}) == 1:
        # Samples that weigh exactly alike show the steps of the balance, not the seed's evenness.
        weighed = "one weighed sample" if len(samples) == 1 else f"{len(samples)} samples alike"
        rounded = _to_digit(estimate, _second_digit(estimate))
        return SeedCount(
            seeds=round(estimate),
            low=None,
            high=None,
            standard_error=None,
            cv_percent=None,
            thousand_seed_weight_grams=thousand_seed_weight_grams,
            samples=len(samples),
            rounded=rounded,
            sentence=f"about {rounded:,} seeds"
            f" ({weighed}: how far out this may be is not known; weigh larger samples, or more)",
        )
    freedom = len(samples) - 1
    # The variance of one seed's weight, if the seeds of a sample were drawn one by one.
    variance = sum(seeds * (grams / seeds - grams_each) ** 2 for seeds, grams in samples) / freedom
    cv_percent = 100 * sqrt(variance * len(samples) / seeds_weighed) / grams_each
    if cv_percent > SCATTER_LIMIT_PERCENT:
        raise BadInput(
            f"The samples differ too much to count by: {cv_percent:.0f} % about their mean, and"
            f" {SCATTER_LIMIT_PERCENT:.0f} % is the most. Clean and mix the seed and weigh more"
            " samples.",
            field="samples",
        )
    standard_error = estimate * sqrt(variance / seeds_weighed) / grams_each
    margin = _student_t(freedom) * standard_error
    low, high = estimate - margin, estimate + margin
    last_digit = _last_digit_shown(estimate, standard_error, is_dust=is_dust)
    rounded = _to_digit(estimate, last_digit)
    return SeedCount(
        seeds=round(estimate),
        low=floor(low),
        high=ceil(high),
        standard_error=standard_error,
        cv_percent=cv_percent,
        thousand_seed_weight_grams=thousand_seed_weight_grams,
        samples=len(samples),
        rounded=rounded,
        sentence=f"about {rounded:,} seeds"
        f" (95 % {_to_digit(low, last_digit):,}-{_to_digit(high, last_digit):,};"
        f" {len(samples)} weighed samples, t with {freedom}"
        f" {'degree' if freedom == 1 else 'degrees'} of freedom)",
    )


def thousand_seed_weight(
    grams: Sequence[float], seeds_per_replicate: int = 100, *, is_chaffy: bool = False
) -> ThousandSeedWeight:
    """Return the thousand-seed weight from eight replicates, or sixteen after a second weighing.

    Eight replicates of pure seed are weighed. If their coefficient of variation is over 4.0 %
    (6.0 % for chaffy seed), eight more are weighed, and of all sixteen those further than twice the
    standard deviation from the mean are left out. (International Rules for Seed Testing, chapter
    10; AOSA Rules, appendix 4.)

    Parameters
    ----------
    grams : sequence of float
        Weights of the replicates: 8, or all 16.
    seeds_per_replicate : int
        Seeds in each, normally 100.
    is_chaffy : bool
        Seed that clings and will not be drawn evenly.

    Raises
    ------
    BadInput
        If there are not 8 or 16 replicates, or a weight or number is not above zero.

    Examples
    --------
    >>> weighed = [0.2224, 0.2134, 0.2130, 0.2116, 0.2145, 0.2071, 0.2116, 0.2125]
    >>> round(thousand_seed_weight(weighed).thousand_seed_weight_grams, 6)
    2.132625
    """
    if seeds_per_replicate < 1:
        raise BadInput("A replicate has at least one seed.", field="seeds_per_replicate")
    if any(not 0 < weight < inf for weight in grams):
        raise BadInput("Every replicate weighs more than 0 g.", field="grams")
    if len(grams) not in {REPLICATES, 2 * REPLICATES}:
        raise BadInput(
            f"The method takes {REPLICATES} replicates, or all {2 * REPLICATES} after a second"
            f" weighing; {len(grams)} were given.",
            field="grams",
        )
    limit = CV_LIMIT_CHAFFY_PERCENT if is_chaffy else CV_LIMIT_PERCENT
    mean, deviation = _mean_and_deviation(grams)
    cv_percent = 100 * deviation / mean
    is_second_weighing = len(grams) > REPLICATES
    furthest = _STANDARD_DEVIATIONS_KEPT * deviation if is_second_weighing else inf
    kept = [weight for weight in grams if abs(weight - mean) <= furthest]
    discarded = tuple(weight for weight in grams if abs(weight - mean) > furthest)
    if is_second_weighing:
        verdict = f"{len(discarded)} of {len(grams)} replicates left out"
    elif cv_percent <= limit:
        verdict = f"accepted, the limit is {limit} %"
    else:
        verdict = f"over the limit of {limit} %: weigh {REPLICATES} more"
    mean_kept, deviation_kept = _mean_and_deviation(kept)
    margin = _student_t(len(kept) - 1) * deviation_kept / sqrt(len(kept))
    weight, low, high = (
        1000 / seeds_per_replicate * each
        for each in (mean_kept, mean_kept - margin, mean_kept + margin)
    )
    return ThousandSeedWeight(
        thousand_seed_weight_grams=weight,
        low=low,
        high=high,
        cv_percent=cv_percent,
        cv_limit_percent=limit,
        replicates=len(kept),
        discarded_grams=discarded,
        is_accepted=is_second_weighing or cv_percent <= limit,
        sentence=f"{weight:.4g} g per 1,000 seeds (95 % {low:.4g}-{high:.4g} g, {len(kept)}"
        f" replicates of {seeds_per_replicate}; scatter {cv_percent:.1f} %, {verdict})",
    )


def _require_samples(samples: Sequence[tuple[int, float]], clean_grams: float) -> None:
    if not samples:
        raise BadInput("Weigh at least one counted sample.", field="samples")
    if any(seeds < 1 or not 0 < grams < inf for seeds, grams in samples):
        raise BadInput(
            "Every sample has at least one seed and weighs more than 0 g.", field="samples"
        )
    if not 0 < clean_grams < inf:
        raise BadInput("The clean seed weighs more than 0 g.", field="clean_grams")
    if any(grams > clean_grams for _, grams in samples):
        raise BadInput(
            "A sample weighs more than all the clean seed. Weigh the clean seed with the samples"
            " put back.",
            field="clean_grams",
        )


def _mean_and_deviation(values: Sequence[float]) -> tuple[float, float]:
    mean = sum(values) / len(values)
    return mean, sqrt(sum((value - mean) ** 2 for value in values) / (len(values) - 1))


def _student_t(freedom: int, share_below: float = (1 + CONFIDENCE) / 2) -> float:
    return float(stdtrit(freedom, share_below))


def _second_digit(number: float) -> int:
    """Return the power of ten of a number's second digit, or 0 if that is behind the point."""
    return max(floor(log10(number)) - 1, 0)


def _last_digit_shown(estimate: float, standard_error: float, *, is_dust: bool) -> int:
    """Return the power of ten to round to: that of the standard error's first digit.

    Dust seed is shown to two digits however well the samples agree: static, chaff and the balance
    take part of the weight in every sample alike, and no scatter shows it.
    """
    first_in_doubt = max(floor(log10(standard_error)), 0)
    return max(first_in_doubt, _second_digit(estimate)) if is_dust else first_in_doubt


def _to_digit(number: float, power_of_ten: int) -> int:
    return int(round(number, -power_of_ten))
