"""Whether the seed of two lots differs, from sowings that were not made to be compared.

A sowing is the least that may be exchanged between the lots: its seeds share hand, pot and season.
What is claimed goes by how many sowings there are of each.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from seedbank.calc.germination.betabinomial import fit_common_scatter, tally
from seedbank.calc.germination.compare import (
    Comparison,
    compare_treatments,
    fisher_exact,
    p_words,
)
from seedbank.calc.germination.pool import sowings_words
from seedbank.calc.germination.ranks import Permuted, permutation_test


@dataclass(frozen=True, slots=True)
class LotsApart:
    """How far the sowings of two lots lie apart.

    Attributes
    ----------
    comparison : Comparison
        Each lot's history and the difference, with the interval that the scatter allows.
    permuted : Permuted or None
        Test by dealing out the sowings anew; None from fewer than three sowings a lot.
    fisher_p_value : float or None
        Fisher's exact test where there is one sowing of each lot; it tells of these two only.
    sentence : str
        All of it in words.

    """

    comparison: Comparison
    permuted: Permuted | None
    fisher_p_value: float | None
    sentence: str


def compare_lots(
    first: Sequence[tuple[int, int]], second: Sequence[tuple[int, int]], confidence: float = 0.95
) -> LotsApart:
    """Compare the share that came of two lots, over their sowings.

    Parameters
    ----------
    first, second : sequence of (came, sown)
        The sowings of each lot, each with seed.
    confidence : float
        Of the intervals, between 0 and 1.

    Raises
    ------
    BadInput
        If a lot has no seed, or a count or the confidence cannot be.

    Notes
    -----
    Permuted is each sowing's departure from the common mean, weighed by what it tells of it:
    ``n / (1 + (n - 1) rho)`` seeds' worth, rho being the correlation within sowings where both lots
    are one. So a sowing of 3 seeds moves little beside one of 300, and the test is exact whatever
    rho is.

    Examples
    --------
    >>> print(compare_lots([(5, 20)], [(15, 20), (13, 20)]).sentence)
    1 sowing of 20 seeds against 2 sowings of 40 seeds: 45 points more (18 to 63); from fewer than \
three sowings a lot no claim is made, since lot and sowing cannot be told apart.

    """
    comparison = compare_treatments(first, second, confidence)
    one, two = comparison.first, comparison.second
    permuted = fisher = None
    if comparison.may_claim:
        permuted = permutation_test(*_departures(first, second), dealt="sowings")
        verdict = permuted.sentence[0].lower() + permuted.sentence[1:-1]
    elif one.sowings == two.sowings == 1:
        fisher = fisher_exact((one.came, one.sown), (two.came, two.sown))
        verdict = (
            f"by Fisher's exact test {p_words(fisher)}, which tells of these two sowings and not "
            "of the lots"
        )
    else:
        verdict = (
            "from fewer than three sowings a lot no claim is made, since lot and sowing cannot be "
            "told apart"
        )
    sizes = " against ".join(
        f"{sowings_words(lot.sowings)} of {lot.sown} seeds" for lot in (one, two)
    )
    return LotsApart(
        comparison,
        permuted,
        fisher,
        f"{sizes}: {comparison.difference.sentence}; {verdict}.",
    )


def _departures(
    first: Sequence[tuple[int, int]], second: Sequence[tuple[int, int]]
) -> tuple[list[float], list[float]]:
    """Score of each sowing for a mean of its own, were all of one mean and scatter."""
    together = tally([*first, *second])
    is_one_sided = together.came in (0, together.sown)
    rho = 0.0 if is_one_sided else fit_common_scatter([together]).rho
    worth = [sown / (1 + (sown - 1) * rho) for _came, sown in (*first, *second)]
    shares = [came / sown for came, sown in (*first, *second)]
    mean = float(np.average(shares, weights=worth))
    scores = [weight * (share - mean) for weight, share in zip(worth, shares, strict=True)]
    return scores[: len(first)], scores[len(first) :]
