"""What the pages of harvests show."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from crosses.calc.errors import BadInput
from crosses.calc.seedcount import (
    REPLICATES,
    SeedCount,
    count_from_samples,
    thousand_seed_weight,
)
from crosses.models import Cross, Harvest, Pollination, SeedSample
from crosses.queries.capsules import state_of_loaded
from crosses.queries.forecast import with_forecast_facts


@dataclass(frozen=True)
class HarvestLine:
    """Capsules of one pollination, and how many days after it they were taken."""

    pollination: Pollination
    capsules: int
    days: int


@dataclass(frozen=True)
class HarvestFacts:
    """Which capsules a harvest had, and its seeds in words with how they were counted."""

    capsules: int
    lines: tuple[HarvestLine, ...]
    samples: tuple[SeedSample, ...]
    seeds: str
    seeds_a_capsule: str
    thousand_seed_weight: str


def flowers_to_harvest(cross: Cross) -> list[tuple[Pollination, int]]:
    """Return a cross's pollinations with how many flowers of each can still bear a capsule."""
    standing = with_forecast_facts(cross.pollinations.filter(withdrawn_at=None))
    found = [
        (pollination, state_of_loaded(pollination))
        for pollination in standing.order_by("pollinated_on", "id")
    ]
    return [(pollination, state.open_flowers) for pollination, state in found if state.open_flowers]


def harvests_of(cross: Cross) -> list[tuple[Harvest, str]]:
    """Return a cross's harvests, each with its seeds in words."""
    harvests = cross.harvests.prefetch_related("samples").order_by("harvested_on", "id")
    return [(harvest, _seeds(harvest, tuple(harvest.samples.all()))) for harvest in harvests]


def harvest_facts(harvest: Harvest) -> HarvestFacts:
    lines = tuple(
        HarvestLine(
            line.pollination,
            line.capsules,
            (harvest.harvested_on - line.pollination.pollinated_on).days,
        )
        for line in harvest.pollinations.select_related("pollination").order_by("pollination")
    )
    samples = tuple(harvest.samples.all())
    capsules = sum(line.capsules for line in lines)
    return HarvestFacts(
        capsules=capsules,
        lines=lines,
        samples=samples,
        seeds=_seeds(harvest, samples),
        seeds_a_capsule=_seeds_a_capsule(harvest, capsules),
        thousand_seed_weight=_by_replicates(samples),
    )


def seeds_by_weight(
    samples: Sequence[tuple[int, Decimal]], clean_grams: Decimal | None
) -> SeedCount:
    """Reckon seeds from what was weighed; BadInput says what is missing or scatters too much."""
    if clean_grams is None:
        raise BadInput("Weigh all the clean seed.", field="clean_grams")
    return count_from_samples(
        [(seeds, float(grams)) for seeds, grams in samples], float(clean_grams)
    )


def _seeds(harvest: Harvest, samples: tuple[SeedSample, ...]) -> str:
    if harvest.seeds is None:
        return "not counted yet"
    if harvest.seed_counting == Harvest.SeedCounting.COUNTED:
        return f"{harvest.seeds:,} seeds, counted"
    if samples and harvest.clean_grams is not None:
        weighed = [(sample.seeds, sample.grams) for sample in samples]
        return seeds_by_weight(weighed, harvest.clean_grams).sentence
    return f"about {harvest.seeds:,} seeds, {harvest.get_seed_counting_display()}"


def _by_replicates(samples: tuple[SeedSample, ...]) -> str:
    """Give the thousand-seed weight where the samples are the replicates of the standard method."""
    sizes = {sample.seeds for sample in samples}
    if len(samples) not in {REPLICATES, 2 * REPLICATES} or len(sizes) > 1:
        return ""
    weighed = [float(sample.grams) for sample in samples]
    return f"{thousand_seed_weight(weighed, sizes.pop()).sentence}."


def _seeds_a_capsule(harvest: Harvest, capsules: int) -> str:
    if harvest.seeds is None or not capsules:
        return ""
    how = harvest.get_seed_counting_display()
    return f"{harvest.seeds / capsules:.0f} (mean of {capsules}, seeds {how})"
