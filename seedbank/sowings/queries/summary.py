"""Germination history added up: rates of groups of sowings, with what stands behind each."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from django.db.models import QuerySet, Sum

from crosses.calc.errors import BadInput
from crosses.models import Cross
from crosses.queries.written import cross_formula, parents_of
from seedbank.calc.germination import Pooled, pool_sowings
from seedbank.sowings.models import Replicate, Sowing
from seedbank.sowings.queries.history import cross_of, genus_of
from seedbank.sowings.queries.narrowing import looked_at

MOST_KEYS = 2
BAND_CELSIUS = 5

Key = str | int | None


@dataclass(frozen=True)
class GroupSowings:
    """Counted sowings of one group, not yet pooled: pooling takes its time."""

    keys: tuple[Key, ...]
    results: tuple[tuple[int, int], ...]
    open_sowings: int
    growers: int

    @property
    def germinated(self) -> int:
        return sum(came for came, _sown in self.results)

    @property
    def seeds(self) -> int:
        return sum(sown for _came, sown in self.results)


@dataclass(frozen=True)
class PooledGroup:
    """A group with its mean rate and what the next sowing of its kind may bring."""

    group: GroupSowings
    pooled: Pooled


def read_group_by(text: str) -> tuple[str, ...]:
    """Read "taxon,treatment"; raises BadInput for a name nobody groups by, or for too many."""
    names = tuple(name.strip() for name in text.split(",") if name.strip())
    unknown = [name for name in names if name not in GROUPERS]
    if unknown:
        raise BadInput(
            f"Nothing is grouped by '{unknown[0]}'. Take one or two of: {', '.join(GROUPERS)}.",
            field="group_by",
        )
    if not 1 <= len(set(names)) == len(names) <= MOST_KEYS:
        raise BadInput("Group by one or two different things.", field="group_by")
    return names


def group_sowings(sowings: QuerySet[Sowing], group_by: Sequence[str]) -> list[GroupSowings]:
    """Divide the counted sowings into groups, most seed first; the same few queries always.

    A sowing that nobody has looked at says nothing and is in no group.
    """
    counted = looked_at(sowings, yes=True)
    germinated = dict(
        Replicate.objects.filter(sowing__in=counted.values("pk"))
        .order_by()
        .values_list("sowing")
        .annotate(Sum("germinated"))
    )
    by_keys: defaultdict[tuple[Key, ...], list[Sowing]] = defaultdict(list)
    for sowing in _with_keys(counted):
        by_keys[tuple(GROUPERS[name](sowing) for name in group_by)].append(sowing)
    groups = [
        GroupSowings(
            keys=keys,
            results=tuple(sorted((germinated[sowing.pk], sowing.seeds_sown) for sowing in members)),
            open_sowings=sum(sowing.closed_on is None for sowing in members),
            growers=len({sowing.grower_id for sowing in members}),
        )
        for keys, members in by_keys.items()
    ]
    return sorted(groups, key=lambda group: (-group.seeds, [str(key) for key in group.keys]))


def pool_groups(groups: Iterable[GroupSowings]) -> list[PooledGroup]:
    return [PooledGroup(group, _pooled(group.results)) for group in groups]


# The answer follows from the numbers alone, and the same groups are asked for again and again.
@lru_cache(maxsize=2048)
def _pooled(results: tuple[tuple[int, int], ...]) -> Pooled:
    return pool_sowings(results)


def _with_keys(sowings: QuerySet[Sowing]) -> QuerySet[Sowing]:
    return (
        sowings.select_related(
            "grower",
            "packet__lot__taxon",
            "packet__lot__harvest__cross__seed_parent",
            "packet__lot__harvest__cross__pollen_parent",
        )
        .prefetch_related("pretreatments", "packet__lot__harvest__cross__pollen_shares__plant")
        .order_by("pk")
    )


def _taxon(sowing: Sowing) -> Key:
    taxon = sowing.packet.lot.taxon
    return taxon.name if taxon else None


def _seed_parent(sowing: Sowing) -> Key:
    cross = cross_of(sowing)
    return cross.seed_parent.name_text if cross else None


def _pollen_parent(sowing: Sowing) -> Key:
    """Of a mixture all its plants together; of open or unknown pollen just that word."""
    cross = cross_of(sowing)
    if cross is None:
        return None
    names = [plant.name_text for plant, _part in parents_of(cross).pollen]
    return " + ".join(names) if names else Cross.Pollen(cross.pollen).label


def _formula(sowing: Sowing) -> Key:
    cross = cross_of(sowing)
    return cross_formula(cross) if cross else None


def _treatment(sowing: Sowing) -> Key:
    """The kinds of steps in order; their days and degrees are in the rows."""
    steps = [step.kind for step in sowing.pretreatments.all()]
    return " then ".join(steps) if steps else "none"


def _temperature(sowing: Sowing) -> Key:
    """Bands of five degrees by the middle of the two temperatures; None where not said."""
    known = [
        float(value)
        for value in (sowing.temperature_low_celsius, sowing.temperature_high_celsius)
        if value is not None
    ]
    if not known:
        return None
    low = int(sum(known) / len(known) // BAND_CELSIUS * BAND_CELSIUS)
    return f"{low} to under {low + BAND_CELSIUS} °C"


GROUPERS: dict[str, Callable[[Sowing], Key]] = {
    "taxon": _taxon,
    "genus": lambda sowing: genus_of(sowing.packet.lot),
    "formula": _formula,
    "seed_parent": _seed_parent,
    "pollen_parent": _pollen_parent,
    "lot": lambda sowing: sowing.packet.lot.number,
    "harvest_year": lambda sowing: sowing.packet.lot.year,
    "sown_year": lambda sowing: sowing.sown_on.year,
    "treatment": _treatment,
    "temperature": _temperature,
    "grower": lambda sowing: sowing.grower.donor_code,
}
