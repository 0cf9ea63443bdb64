"""Two sowings, or two lots, side by side."""

from dataclasses import dataclass

from django.db.models import QuerySet

from crosses.calc.errors import BadInput
from crosses.calc.rates import Share, wilson
from crosses.formats.charts import Chart, germination_curve
from seedbank.bank.access import lots_visible_to
from seedbank.bank.models import Lot
from seedbank.calc.germination import (
    Comparison,
    Counts,
    LogRank,
    LotsApart,
    Permuted,
    RankTest,
    compare_lots,
    compare_treatments,
    fisher_exact,
    generalised_wilcoxon,
    log_rank,
    permute_pots,
)
from seedbank.members.models import Member
from seedbank.sowings.access import sowings_visible_to
from seedbank.sowings.models import Sowing
from seedbank.sowings.queries.counted import (
    counted_sowings,
    counts_of_pots,
    counts_of_sowing,
    results_of,
)
from seedbank.sowings.queries.narrowing import looked_at
from seedbank.sowings.queries.pages import curve_of, series_of

# Below this no way to deal the pots out anew could tell two sides apart.
FEWEST_POTS = 3
MOST_LOTS_BESIDE = 20


@dataclass(frozen=True)
class SowingsCompared:
    """Two sowings; where their courses cannot be compared, `course_note` says why not."""

    first: Sowing
    second: Sowing
    first_share: Share
    second_share: Share
    p_value: float
    course: LogRank | None
    course_note: str
    ranks: RankTest
    pots: Permuted | None
    comparison: Comparison
    chart: Chart


@dataclass(frozen=True)
class LotsCompared:
    first: Lot
    second: Lot
    open_sowings: int
    apart: LotsApart


def sowings_compared(first: Sowing, second: Sowing) -> SowingsCompared:
    """Compare two sowings, loaded by `with_counts`; refuses where one was never looked at."""
    if first == second:
        raise BadInput("That is this sowing itself; choose another.", field="other")
    one, two = counts_of_sowing(first), counts_of_sowing(second)
    if one is None or two is None:
        unseen = first if one is None else second
        raise BadInput(f"Nobody has looked at {unseen.number} yet.", field="other")
    results = (one.germinated, one.sown), (two.germinated, two.sown)
    sides = counts_of_pots(first), counts_of_pots(second)
    course, course_note = _courses_compared(*sides)
    return SowingsCompared(
        first=first,
        second=second,
        first_share=wilson(*results[0]),
        second_share=wilson(*results[1]),
        p_value=fisher_exact(*results),
        course=course,
        course_note=course_note,
        ranks=generalised_wilcoxon(*sides),
        pots=permute_pots(*sides) if min(map(len, sides)) >= FEWEST_POTS else None,
        comparison=compare_treatments([results[0]], [results[1]]),
        chart=germination_curve(
            f"compare-{first.pk}-{second.pk}",
            f"{first.number} and {second.number}",
            [
                series_of(sowing.number, pots, curve_of(pots))
                for sowing, pots in zip((first, second), sides, strict=True)
            ],
        ),
    )


def _courses_compared(one: list[Counts], two: list[Counts]) -> tuple[LogRank | None, str]:
    """Compare how soon they came, where both were looked at on the same days; else say why not."""
    try:
        return log_rank(one, two), ""
    except BadInput as no:
        return None, no.message


def lots_compared(first: Lot, second: Lot, viewer: Member) -> LotsCompared:
    """Compare two lots by the sowings a viewer may see; refuses where one has no counted one."""
    if first == second:
        raise BadInput("That is this lot itself; choose another.", field="other")
    sowings = [counted_sowings(viewer).filter(packet__lot=lot) for lot in (first, second)]
    sides = [results_of(of_lot) for of_lot in sowings]
    for lot, results in zip((first, second), sides, strict=True):
        if not results:
            raise BadInput(
                f"Nobody has counted a sowing of {lot.number} that you may see.", field="other"
            )
    return LotsCompared(
        first=first,
        second=second,
        open_sowings=sum(of_lot.filter(closed_on=None).count() for of_lot in sowings),
        apart=compare_lots(sides[0], sides[1]),
    )


def lots_beside(lot: Lot, viewer: Member) -> QuerySet[Lot]:
    """Other lots of the same cross or taxon of which somebody has counted a sowing."""
    lots = lots_visible_to(viewer).filter(withdrawn_at=None).exclude(pk=lot.pk)
    if lot.taxon_id is not None:
        alike = lots.filter(taxon=lot.taxon_id)
    elif lot.harvest is not None:
        alike = lots.filter(harvest__cross=lot.harvest.cross_id)
    else:
        return lots.none()
    counted = looked_at(sowings_visible_to(viewer), yes=True).order_by()
    return alike.filter(pk__in=counted.values("packet__lot")).order_by("-year", "-pk")[
        :MOST_LOTS_BESIDE
    ]
