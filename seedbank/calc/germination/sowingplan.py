"""How many seeds to sow for the seedlings wanted."""

from dataclasses import dataclass

import numpy as np
from scipy.special import bdtrc

from crosses.calc.errors import BadInput
from crosses.calc.rates import Share, whole_number, whole_percent
from seedbank.calc.germination.expectation import Expectation

MOST_SEEDS = 1_000_000
# A chance short of the one wanted by a rounding error is not short of it.
ROUNDING = 1e-12


@dataclass(frozen=True, slots=True)
class SeedsToSow:
    """Least number of seeds that brings the seedlings wanted with the confidence wanted."""

    seeds: int
    chance: float
    sentence: str


def seeds_to_sow(
    seedlings: int, confidence: float, share: float | Share | Expectation
) -> SeedsToSow:
    """Find the least number of seeds that brings the seedlings wanted.

    Parameters
    ----------
    seedlings : int
        How many are wanted, at least one.
    confidence : float
        Chance of having that many, between 0 and 1.
    share : float or Share or Expectation
        A share taken as known; a share counted once, whose doubt asks for more seed; or what is
        expected of the next sowing (``expect_next_sowing``), which adds the doubt between sowings.

    Raises
    ------
    BadInput
        If a number is out of range, nothing can come up, or more than a million seeds would be
        needed.

    Examples
    --------
    >>> seeds_to_sow(5, 0.95, 0.25).seeds
    34
    >>> from crosses.calc.rates import wilson
    >>> seeds_to_sow(5, 0.95, wilson(5, 20)).seeds
    45

    """
    wanted = whole_number(seedlings, "seedlings")
    if wanted < 1:
        raise BadInput("Ask for at least one seedling.", field="seedlings")
    if not 0 < confidence < 1:
        raise BadInput("The confidence is a fraction between 0 and 1.", field="confidence")
    if isinstance(share, float | int) and not 0 < share <= 1:
        raise BadInput("A share that can bring seedlings lies above 0 and up to 1.", field="share")
    enough = wanted
    least_chance = confidence - ROUNDING
    while (chance := _chance_of_at_least(wanted, enough, share)) < least_chance:
        enough *= 2
        if enough > MOST_SEEDS:
            raise BadInput(
                f"Not even {MOST_SEEDS} seeds would bring {wanted} seedlings so surely.",
                field="share",
            )
    too_little = enough // 2 if enough > wanted else wanted - 1
    while enough - too_little > 1:
        middle = (enough + too_little) // 2
        chance_there = _chance_of_at_least(wanted, middle, share)
        if chance_there < least_chance:
            too_little = middle
        else:
            enough, chance = middle, chance_there
    plural = "" if wanted == 1 else "s"
    return SeedsToSow(
        enough,
        chance,
        f"Sow {enough} for at least {wanted} seedling{plural} in {whole_percent(confidence)} of "
        f"100 such sowings; {_share_words(share)}.",
    )


def _chance_of_at_least(seedlings: int, seeds: int, share: float | Share | Expectation) -> float:
    if isinstance(share, Expectation):
        return share.chance_of_at_least(seedlings, seeds)
    if isinstance(share, Share):
        # Uniform beforehand, so that a share never counted may be anything.
        counted = Expectation(
            np.array([share.x + 1.0]), np.array([share.n - share.x + 1.0]), np.ones(1)
        )
        return counted.chance_of_at_least(seedlings, seeds)
    return float(bdtrc(seedlings - 1, seeds, share))


def _share_words(share: float | Share | Expectation) -> str:
    if isinstance(share, Expectation):
        return f"about {whole_percent(share.mean())} % are expected, as sowings have varied"
    if isinstance(share, Share):
        return f"allowing for what {share.x} of {share.n} leaves open"
    return f"taking {whole_percent(share)} % as known"
