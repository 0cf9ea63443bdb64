"""Groups of germination history as rows for a spreadsheet; the headings are the API's names."""

from collections.abc import Iterator, Sequence

from seedbank.formats.tables.writing import Value
from seedbank.sowings.queries.summary import GroupSowings, PooledGroup, pool_groups

GROUPS_AT_ONCE = 20
Row = tuple[Value, ...]

_OF_GROUP = (
    "sowings",
    "open_sowings",
    "growers",
    "seeds",
    "germinated",
    "mean",
    "mean_low",
    "mean_high",
    "next_sowing_low",
    "next_sowing_high",
    "correlation_within_sowing",
    "confidence",
    "median_time_after_days",
    "median_time_by_days",
    "how",
)
_OF_STEP = ("day", "share", "share_low", "share_high", "seeds_known")
_BEHIND = ("sowings", "seeds", "germinated", "confidence")


def summary_table(
    group_by: tuple[str, ...], groups: Sequence[GroupSowings]
) -> tuple[Sequence[str], Iterator[Row]]:
    """A row a group."""
    rows = ((*found.group.keys, *_group(found)) for found in _pooled(groups))
    return (*group_by, *_OF_GROUP), rows


def course_table(
    group_by: tuple[str, ...], groups: Sequence[GroupSowings]
) -> tuple[Sequence[str], Iterator[Row]]:
    """A row a group and day; what stands behind the group is in each."""
    return (*group_by, *_OF_STEP, *_BEHIND), _course_rows(groups)


def _pooled(groups: Sequence[GroupSowings]) -> Iterator[PooledGroup]:
    for start in range(0, len(groups), GROUPS_AT_ONCE):
        yield from pool_groups(groups[start : start + GROUPS_AT_ONCE])


def _group(found: PooledGroup) -> Row:
    group, pooled, course = found.group, found.pooled, found.course
    return (
        pooled.sowings,
        group.open_sowings,
        group.growers,
        pooled.sown,
        pooled.came,
        pooled.mean,
        pooled.mean_low,
        pooled.mean_high,
        pooled.next_low,
        pooled.next_high,
        pooled.rho,
        pooled.confidence,
        course.half_after_day if course else None,
        course.half_by_day if course else None,
        pooled.sentence,
    )


def _course_rows(groups: Sequence[GroupSowings]) -> Iterator[Row]:
    for found in _pooled(groups):
        for step in found.course.steps if found.course else ():
            yield (
                *found.group.keys,
                step.day,
                step.share,
                step.low,
                step.high,
                step.known,
                found.pooled.sowings,
                found.pooled.sown,
                found.pooled.came,
                found.pooled.confidence,
            )
