"""How readily single plants take as seed parent or as pollen parent.

A raw rate misleads: 2 of 3 is above 14 of 16 by accident only. Each plant's share is therefore read
beside those of all plants in the same role: shares are taken to follow a beta law whose mean and
width are not fitted but averaged over, so that few plants, or plants that all took or all failed,
still give honest intervals.
"""

from collections import Counter
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import brentq
from scipy.special import betainc, betaln

from crosses.calc.errors import BadInput
from crosses.calc.grids import Floats, Grid, zoomed
from crosses.calc.rates import exact

PlantId = Hashable
CONFIDENCE = 0.8
# Shares of plants are read to the percent; 25 by 25 points give a tenth of that.
GRID_POINTS = 25
# The correlation between flowers of one plant is as likely to lie anywhere up to a half. A law with
# more weight near nought gives intervals that are too narrow where plants do differ.
LARGEST_CORRELATION = 0.5


@dataclass(frozen=True, slots=True)
class ParentRate:
    """Share of a plant's flowers that take in one role, read beside the other plants'.

    Attributes
    ----------
    taken, flowers : int
        What was counted; 0 of 0 for a plant never tried.
    estimate : float
        Expected share, 0 to 1.
    low, high : float
        Ends of the 80 % interval.
    sentence : str

    """

    taken: int
    flowers: int
    estimate: float
    low: float
    high: float
    sentence: str


@dataclass(frozen=True, eq=False)
class RoleRates:
    """Rates of all plants in one role; each is reckoned when it is asked for, once."""

    counts: Mapping[PlantId, tuple[int, int]]
    grid: Grid
    _found: dict[tuple[int, int], ParentRate] = field(default_factory=dict)

    def of(self, plant: PlantId) -> ParentRate:
        """Give the rate of a plant; one never tried gets what may be expected of any plant."""
        count = self.counts.get(plant, (0, 0))
        if count not in self._found:
            self._found[count] = self._rate(*count)
        return self._found[count]

    def _rate(self, taken: int, flowers: int) -> ParentRate:
        took, failed = _beta_law(self.grid.first, self.grid.second)
        took, failed = took + taken, failed + (flowers - taken)
        weight = self.grid.weight
        # How well each mean and width foresaw this plant is in the weights already.
        estimate = float(weight @ (took / (took + failed)))

        def quantile(level: float) -> float:
            return float(
                brentq(lambda p: float(weight @ betainc(took, failed, p)) - level, 0, 1, xtol=1e-5)
            )

        low, high = quantile((1 - CONFIDENCE) / 2), quantile((1 + CONFIDENCE) / 2)
        tried = sum(1 for _, of in self.counts.values() if of)
        counted = f"{taken} of {flowers} flowers took" if flowers else "never tried in this role"
        sentence = (
            f"About {100 * estimate:.0f} % (80 % interval {100 * low:.0f}-{100 * high:.0f} %): "
            f"{counted}, "
            f"read beside {tried} plant{'' if tried == 1 else 's'} tried in this role."
        )
        return ParentRate(taken, flowers, estimate, low, high, sentence)


@dataclass(frozen=True, slots=True)
class SeedsPerCapsule:
    """Mean seeds per capsule of several crosses, in the two ways it is printed.

    Attributes
    ----------
    by_capsule : float
        Every capsule counts alike: large crosses weigh more.
    by_cross : float
        Every cross counts alike, however many capsules it gave.
    capsules, crosses : int
        How many stand behind the means.
    sentence : str

    """

    by_capsule: float
    by_cross: float
    capsules: int
    crosses: int
    sentence: str


def role_rates(counts: Mapping[PlantId, tuple[int, int]]) -> RoleRates:
    """Read the counts of all plants in one role together.

    Parameters
    ----------
    counts : mapping from a plant to (taken, flowers)
        Flowers that took, of flowers pollinated and decided.

    Raises
    ------
    BadInput
        If a count is negative or more flowers took than there were.

    Notes
    -----
    Beta-binomial with mean uniform on 0 to 1 and the intra-plant correlation uniform up to a half;
    averaged on a grid.

    Examples
    --------
    >>> rates = role_rates({"Smoke": (14, 16), "Lemon": (2, 3), "Rust": (1, 9)})
    >>> rates.of("Smoke").estimate > rates.of("Lemon").estimate > rates.of("Rust").estimate
    True

    """
    for plant, (taken, flowers) in counts.items():
        _refuse_count(taken, flowers, plant)
    distinct = Counter(count for count in counts.values() if count[1])

    def log_density(mean: Floats, correlation: Floats) -> Floats:
        took, failed = _beta_law(mean, correlation)
        density = np.zeros_like(mean)
        for (taken, flowers), plants in distinct.items():
            seen = betaln(took + taken, failed + flowers - taken) - betaln(took, failed)
            density += plants * seen
        return density

    return RoleRates(
        dict(counts),
        zoomed(log_density, (0.0, 1.0), (0.0, LARGEST_CORRELATION), GRID_POINTS),
    )


def none_took(flowers: int) -> str:
    """Say what follows if none of some flowers took; it is never "sterile".

    Raises
    ------
    BadInput
        If there were no flowers.

    Examples
    --------
    >>> none_took(15)
    '0 of 15: probably under 18 % (95 % upper, exact).'

    """
    if flowers < 1:
        raise BadInput("Nothing follows from no flowers.", field="flowers")
    # The upper end of a two-sided 90 % interval is passed once in twenty.
    upper = exact(0, flowers, confidence=0.9).high
    return f"0 of {flowers}: probably under {100 * upper:.0f} % (95 % upper, exact)."


def seeds_per_capsule(crosses: Iterable[tuple[int, float]]) -> SeedsPerCapsule:
    """Average seeds per capsule over crosses, by capsule and by cross.

    Parameters
    ----------
    crosses : iterable of (capsules, mean seeds per capsule)

    Raises
    ------
    BadInput
        If there is no cross, or one has no capsule or a negative number of seeds.

    Examples
    --------
    The unlike unions printed for Primula vulgaris in 1877; the book gives the mean by cross, 66.0.

    >>> seeds_per_capsule([(11, 66.9), (7, 65.0)]).sentence
    '66.2 seeds a capsule over 18 capsules; 66.0 as plain mean of 2 crosses.'

    """
    rows = list(crosses)
    if not rows or any(capsules < 1 or seeds < 0 for capsules, seeds in rows):
        raise BadInput("Each cross needs a capsule, and seeds from 0 up.", field="crosses")
    capsules = sum(count for count, _ in rows)
    by_capsule = sum(count * seeds for count, seeds in rows) / capsules
    by_cross = sum(seeds for _, seeds in rows) / len(rows)
    # A half is rounded up, as a printed table does it.
    sentence = (
        f"{_one_decimal(by_capsule)} seeds a capsule over {capsules} "
        f"capsule{'' if capsules == 1 else 's'}; "
        f"{_one_decimal(by_cross)} as plain mean of {len(rows)} cross{'' if len(rows) == 1 else 'es'}."
    )
    return SeedsPerCapsule(by_capsule, by_cross, capsules, len(rows), sentence)


def _one_decimal(value: float) -> str:
    return f"{int(value * 10 + 0.5 + 1e-9) / 10:.1f}"


def _beta_law(mean: Floats, correlation: Floats) -> tuple[Floats, Floats]:
    """Two numbers of the beta law with this mean and correlation."""
    size = 1 / correlation - 1
    return size * mean, size * (1 - mean)


def _refuse_count(taken: int, flowers: int, plant: PlantId) -> None:
    if not 0 <= taken <= flowers:
        raise BadInput(f"{plant}: {taken} of {flowers} flowers cannot have taken.", field="taken")
