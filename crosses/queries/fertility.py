"""How readily plants take, from the flowers a reader may know of."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from django.db.models import Max, QuerySet, Sum, Value

from crosses.access import harvests_visible_to, pollinations_visible_to
from crosses.base.visibility import Visibility
from crosses.calc.fertility import (
    Attempt,
    PairChance,
    PairFacts,
    PairModel,
    ParentRate,
    SeedsPerCapsule,
    fit_pairs,
    none_took,
    role_rates,
    seeds_per_capsule,
)
from crosses.calc.rates import Share, wilson
from crosses.models import Cross, Harvest, Plant, Pollination, Taxon
from crosses.queries.cautions import chromosome_sets, why_no_chance
from crosses.queries.took import told_of_parents, took_by

_FORMS = {Plant.StyleForm.PIN, Plant.StyleForm.THRUM}


@dataclass(frozen=True)
class RoleFigures:
    """What a plant did in one role: its own count, and the count read beside other plants'.

    `none_took` is said where no flower took; `seeds` is None where no seed was counted.
    """

    share: Share
    rate: ParentRate
    none_took: str
    seeds: SeedsPerCapsule | None


def figures_of_plant(viewer: Any, plant: Plant) -> tuple[RoleFigures, RoleFigures]:
    """Return a plant's figures as seed parent and as pollen parent, in four queries."""
    return _figures(viewer, plant, "seed_parent"), _figures(viewer, plant, "pollen_parent")


def _figures(viewer: Any, plant: Plant, role: str) -> RoleFigures:
    counts = {
        parent: (capsules, flowers)
        for parent, capsules, flowers in took_by(
            pollinations_visible_to(viewer), f"cross__{role}__number"
        )
    }
    rate = role_rates(counts).of(plant.number)
    return RoleFigures(
        share=wilson(rate.taken, rate.flowers),
        rate=rate,
        none_took=none_took(rate.flowers) if rate.flowers and not rate.taken else "",
        seeds=_seeds(viewer, plant, role),
    )


def _seeds(viewer: Any, plant: Plant, role: str) -> SeedsPerCapsule | None:
    """Average the seeds a capsule of a plant's crosses with one other plant."""
    harvests = harvests_visible_to(viewer).filter(
        **{f"cross__{role}": plant}, cross__pollen=Cross.Pollen.PLANT, cross__withdrawn_at=None
    )
    return _seeds_of(harvests)


def seeds_of_cross(viewer: Any, cross: Cross) -> SeedsPerCapsule | None:
    """Average the seeds a capsule of one cross; None where no seed was counted."""
    return _seeds_of(harvests_visible_to(viewer).filter(cross=cross))


def _seeds_of(harvests: QuerySet[Harvest]) -> SeedsPerCapsule | None:
    """Average over harvests, in one query; a guess is no count and is left out."""
    counted = (
        harvests.filter(
            withdrawn_at=None,
            seed_counting__in=[Harvest.SeedCounting.COUNTED, Harvest.SeedCounting.SAMPLED],
        )
        .annotate(capsules=Sum("pollinations__capsules"))
        .order_by()
    )
    of_cross: dict[int, tuple[int, int]] = {}
    for cross, capsules, seeds in counted.values_list("cross_id", "capsules", "seeds"):
        if capsules and seeds is not None:
            before, seeds_before = of_cross.get(cross, (0, 0))
            of_cross[cross] = (before + capsules, seeds_before + seeds)
    if not of_cross:
        return None
    return seeds_per_capsule((capsules, seeds / capsules) for capsules, seeds in of_cross.values())


# Models learnt before in this process, by whose flowers beside everybody's, each with what was written
# last when it was learnt.
_KEPT: dict[int, tuple[tuple[Any, ...], PairModel]] = {}
MOST_KEPT = 4


def forget_models() -> None:
    """Forget what was learnt: for tests, whose histories begin anew with each."""
    _KEPT.clear()


def pair_model(viewer: Any) -> PairModel:
    """Return what all decided flowers teach that a reader may know of.

    It is kept until something of a flower, a cross, a plant or a taxon is written. Readers without
    crosses of their own that nobody else may see know the same flowers, and share one.
    """
    told = told_of_parents(pollinations_visible_to(viewer))
    whose = viewer.pk if told.exclude(cross__visibility=Visibility.SOCIETY).exists() else 0
    written = _written_last()
    found = _KEPT.get(whose)
    if found is None or found[0] != written:
        if len(_KEPT) >= MOST_KEPT:
            _KEPT.clear()
        found = _KEPT[whose] = (written, _learn(viewer))
    return found[1]


def _written_last() -> tuple[Any, ...]:
    """Return the last line of each history that a model rests on, in one query."""
    first, *others = (
        model.history.order_by().values(kind=Value(model.__name__)).annotate(last=Max("history_id"))
        for model in (Pollination, Cross, Plant, Taxon)
    )
    return tuple(sorted(first.union(*others).values_list("kind", "last")))


def _learn(viewer: Any) -> PairModel:
    """Learn from every decided flower a reader may know of, in one query."""
    alike = ("style_form", "ploidy", "taxon__ploidy")
    rows = took_by(
        pollinations_visible_to(viewer),
        "cross__seed_parent__number",
        "cross__pollen_parent__number",
        "pollinated_on__month",
        "air_temperature_celsius",
        *(f"cross__seed_parent__{field}" for field in alike),
        *(f"cross__pollen_parent__{field}" for field in alike),
    )
    return fit_pairs(list(_attempts(rows)))


def _attempts(rows: Iterable[tuple[Any, ...]]) -> Iterable[Attempt]:
    for seed, pollen, month, celsius, *alike, capsules, flowers in rows:
        seed_form, seed_sets, seed_usual, pollen_form, pollen_sets, pollen_usual = alike
        facts = _facts(
            (seed_form, seed_sets or seed_usual), (pollen_form, pollen_sets or pollen_usual)
        )
        yield Attempt(
            seed,
            pollen,
            flowers=flowers,
            taken=capsules,
            is_same_form=facts.is_same_form,
            is_equal_ploidy=facts.is_equal_ploidy,
            month=month,
            temperature_celsius=None if celsius is None else float(celsius),
        )


def pair_facts(seed_parent: Plant, pollen_parent: Plant) -> PairFacts:
    """Return in what two plants are alike; they need their taxon and their parents loaded."""
    alike = _facts(
        (seed_parent.style_form, chromosome_sets(seed_parent)),
        (pollen_parent.style_form, chromosome_sets(pollen_parent)),
    )
    return replace(alike, why_no_chance=why_no_chance(seed_parent, pollen_parent))


def _facts(seed: tuple[str, int | None], pollen: tuple[str, int | None]) -> PairFacts:
    (seed_form, seed_sets), (pollen_form, pollen_sets) = seed, pollen
    return PairFacts(
        is_same_form=seed_form == pollen_form if {seed_form, pollen_form} <= _FORMS else None,
        is_equal_ploidy=seed_sets == pollen_sets if seed_sets and pollen_sets else None,
    )


def chance_of_cross(
    model: PairModel, cross: Cross, pollination: Pollination | None = None
) -> PairChance | None:
    """Return the chance that a flower of a cross takes, on the day of a pollination if one is given.

    None where the pollen is not that of one other plant, no flower at all is decided yet, or a
    figure would be guesswork.
    """
    if cross.pollen_parent is None or not model.flowers:
        return None
    facts = pair_facts(cross.seed_parent, cross.pollen_parent)
    if facts.why_no_chance:
        return None
    celsius = pollination.air_temperature_celsius if pollination else None
    return model.chance(
        cross.seed_parent.number,
        cross.pollen_parent.number,
        is_same_form=facts.is_same_form,
        is_equal_ploidy=facts.is_equal_ploidy,
        month=pollination.pollinated_on.month if pollination else None,
        temperature_celsius=None if celsius is None else float(celsius),
    )
