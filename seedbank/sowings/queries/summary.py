"""Germination history added up: rates and courses of groups, with what stands behind each."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from django.db.models import QuerySet

from crosses.calc.errors import BadInput
from seedbank.calc.germination import (
    Counts,
    Pooled,
    PooledCourse,
    merge_looks,
    pool_sowings,
    pooled_course,
    read_counts,
)
from seedbank.members.models import Member
from seedbank.sowings.models import Count, Sowing
from seedbank.sowings.queries.counted import tally_by_sowing
from seedbank.sowings.queries.grouping import GROUPERS, Key, keyed
from seedbank.sowings.queries.narrowing import looked_at

MOST_KEYS = 2
# The looks of more sowings than these take seconds to pool.
MOST_TO_POOL = 2000


@dataclass(frozen=True)
class GroupSowings:
    """Counted sowings of one group, not yet pooled: pooling takes its time."""

    keys: tuple[Key, ...]
    sowings: tuple[int, ...]
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
    """A group with its mean rate, what the next sowing of its kind may bring, and when.

    The course is None where there are too many sowings to pool their looks, or they do not settle.
    """

    group: GroupSowings
    pooled: Pooled
    course: PooledCourse | None


def read_group_by(text: str, *, fewest: int = 1) -> tuple[str, ...]:
    """Read "taxon,treatment"; raises BadInput for a name nobody groups by, or for too many."""
    names = tuple(name.strip() for name in text.split(",") if name.strip())
    unknown = [name for name in names if name not in GROUPERS]
    if unknown:
        raise BadInput(
            f"Nothing is grouped by '{unknown[0]}'. Take one or two of: {', '.join(GROUPERS)}.",
            field="group_by",
        )
    if not fewest <= len(set(names)) == len(names) <= MOST_KEYS:
        raise BadInput("Group by one or two different things.", field="group_by")
    return names


def group_sowings(
    sowings: QuerySet[Sowing], group_by: Sequence[str], viewer: Member
) -> list[GroupSowings]:
    """Divide the counted sowings into groups, most seed first; the same few queries always.

    A sowing that nobody has looked at says nothing and is in no group.
    """
    counted = looked_at(sowings, yes=True)
    results = tally_by_sowing(counted.order_by().values("pk"))
    columns = ("pk", "closed_on", "grower")
    by_keys: defaultdict[tuple[Key, ...], list[tuple[int, bool, int]]] = defaultdict(list)
    for keys, (sowing, closed_on, grower) in keyed(counted, tuple(group_by), viewer, columns):
        by_keys[keys].append((sowing, closed_on is None, grower))
    groups = [
        GroupSowings(
            keys=keys,
            sowings=tuple(sowing for sowing, *_rest in members),
            results=tuple(sorted(results[sowing] for sowing, *_rest in members)),
            open_sowings=sum(is_open for _sowing, is_open, _grower in members),
            growers=len({grower for *_rest, grower in members}),
        )
        for keys, members in by_keys.items()
    ]
    return sorted(groups, key=lambda group: (-group.seeds, [str(key) for key in group.keys]))


def pool_groups(groups: Iterable[GroupSowings]) -> list[PooledGroup]:
    """Pool the groups of a page: two queries, however many groups and sowings."""
    shown = list(groups)
    few = [group for group in shown if len(group.sowings) <= MOST_TO_POOL]
    pots = _pots_of([sowing for group in few for sowing in group.sowings])
    return [
        PooledGroup(
            group,
            _pooled(group.results),
            _course([pots[sowing] for sowing in group.sowings]) if group in few else None,
        )
        for group in shown
    ]


def _course(sowings: Sequence[Sequence[Counts]]) -> PooledCourse | None:
    """Looks that cannot be pooled leave a group without its times, and keep its rates."""
    try:
        return pooled_course(sowings)
    except BadInput:
        return None


# The answer follows from the numbers alone, and the same groups are asked for again and again.
@lru_cache(maxsize=2048)
def _pooled(results: tuple[tuple[int, int], ...]) -> Pooled:
    return pool_sowings(results)


def _pots_of(sowings: Sequence[int]) -> dict[int, list[Counts]]:
    """Return the looked-at pots of sowings, each with its own days."""
    looks: defaultdict[int, list[tuple[float, int]]] = defaultdict(list)
    pots: dict[int, tuple[int, int]] = {}
    rows = (
        Count.objects.filter(replicate__sowing__in=sowings, withdrawn_at=None)
        .order_by("replicate", "counted_on")
        .values_list(
            "replicate",
            "replicate__sowing",
            "replicate__seeds",
            "replicate__sowing__sown_on",
            "counted_on",
            "newly_seen",
        )
    )
    for pot, sowing, seeds, sown_on, counted_on, newly_seen in rows:
        pots[pot] = (sowing, seeds)
        looks[pot].append((float((counted_on - sown_on).days), newly_seen))
    found: defaultdict[int, list[Counts]] = defaultdict(list)
    for pot, (sowing, seeds) in pots.items():
        found[sowing].append(read_counts(seeds, *merge_looks(looks[pot])))
    return dict(found)
