"""What the pages of a sowing show."""

import datetime
from dataclasses import dataclass
from typing import Any

import numpy as np
from django.db.models import F, Max, OuterRef, Q, QuerySet, Subquery

from crosses.calc.errors import BadInput
from crosses.calc.rates import Share, wilson
from crosses.formats.charts import Chart, GerminationSeries, GerminationStep, germination_curve
from seedbank.bank.models import Lot, Packet
from seedbank.calc.germination import (
    Counts,
    Curve,
    GerminationIndices,
    ReplicateCheck,
    TimeToShare,
    check_replicates,
    describe,
    fit_curve,
    pot_steps,
    read_counts,
    share_come,
    steps,
    time_to_share,
)
from seedbank.members.models import Member
from seedbank.sowings.access import open_pots_of, sowings_visible_to
from seedbank.sowings.models import Count, Sowing
from seedbank.sowings.queries.counted import (
    are_looked_at_together,
    counts_of_pot,
    counts_of_pots,
    counts_of_sowing,
    pots_left_out,
    tally_by_sowing,
    with_counts,
)
from seedbank.sowings.queries.narrowing import looked_at

CURVE_POINTS = 60
LOOK_EVERY_DAYS = 7


@dataclass(frozen=True)
class LookRow:
    count: Count
    day: int
    total: int


@dataclass(frozen=True)
class SowingFacts:
    """A sowing with everything that is reckoned from its counts; empty where nobody looked."""

    share: Share | None
    left_out: str
    indices: GerminationIndices | None
    curve: Curve | None
    chart: Chart | None
    half: TimeToShare | None
    course: tuple[GerminationStep, ...]
    course_note: str
    looks: tuple[LookRow, ...]
    replicates: ReplicateCheck | None
    replicates_note: str


def sowings_listed(viewer: Member, *, whose: str = "mine", state: str = "") -> QuerySet[Sowing]:
    """Sowings of a list page, open ones first, with the day on which somebody last looked."""
    sowings = sowings_visible_to(viewer)
    if whose == "mine":
        sowings = sowings.filter(grower=viewer)
    if state == "open":
        sowings = sowings.filter(closed_on=None)
    return (
        sowings.select_related("packet__lot", "grower")
        .annotate(
            last_look=Max(
                "replicates__counts__counted_on",
                filter=Q(replicates__counts__withdrawn_at=None),
            ),
        )
        .order_by(F("closed_on").asc(nulls_first=True), "-sown_on", "-pk")
    )


def shares_of(sowings: list[Sowing]) -> list[tuple[Sowing, Share | None]]:
    """Pair sowings with their share; not looked at is not "none came"."""
    counted = tally_by_sowing([sowing.pk for sowing in sowings])
    return [
        (sowing, wilson(*counted[sowing.pk]) if sowing.pk in counted else None)
        for sowing in sowings
    ]


def pots_to_count(viewer: Member, today: datetime.date) -> QuerySet[Any]:
    """The pots of one's open sowings, longest unseen first."""
    return (
        open_pots_of(viewer)
        .filter(sowing__sown_on__lt=today)
        .select_related("sowing__packet__lot")
        .annotate(last_look=Max("counts__counted_on", filter=Q(counts__withdrawn_at=None)))
        .order_by(F("last_look").asc(nulls_first=True), "sowing__sown_on", "position")
    )


def counts_due(viewer: Member, today: datetime.date) -> int:
    """How many pots nobody has looked at for a week."""
    recently = today - datetime.timedelta(days=LOOK_EVERY_DAYS)
    return (
        pots_to_count(viewer, today)
        .filter(Q(last_look=None) | Q(last_look__lte=recently), sowing__sown_on__lte=recently)
        .count()
    )


def sowing_facts(sowing: Sowing) -> SowingFacts:
    """Reckon everything about one sowing, loaded by `with_counts`."""
    counts = counts_of_sowing(sowing)
    looks = _looks(sowing)
    if counts is None:
        return SowingFacts(None, "", None, None, None, None, (), "", looks, None, "")
    pots = counts_of_pots(sowing)
    curve = curve_of(pots)
    check, note = _check_replicates(sowing)
    return SowingFacts(
        share=wilson(counts.germinated, counts.sown),
        left_out=pots_left_out(sowing),
        indices=describe(counts),
        curve=curve,
        chart=germination_curve(
            f"sowing-{sowing.pk}",
            f"Germination of sowing {sowing.number}",
            [series_of(sowing.number, pots, curve)],
        ),
        half=time_to_share(curve, 0.5) if curve.identified else None,
        course=course_of(pots),
        course_note=_course_note(sowing, pots),
        looks=looks,
        replicates=check,
        replicates_note=note,
    )


def _looks(sowing: Sowing) -> tuple[LookRow, ...]:
    total = 0
    rows = []
    counts = (
        count
        for pot in sowing.replicates.all()
        for count in pot.counts.all()
        if not count.is_withdrawn
    )
    for count in sorted(counts, key=lambda count: (count.counted_on, count.replicate_id)):
        total += count.newly_seen
        rows.append(LookRow(count, (count.counted_on - sowing.sown_on).days, total))
    return tuple(rows)


def curve_of(pots: list[Counts]) -> Curve:
    return fit_curve(pots, are_pots=len(pots) > 1)


def series_of(label: str, pots: list[Counts], curve: Curve) -> GerminationSeries:
    drawn: tuple[tuple[float, float], ...] = ()
    if curve.identified:
        last = max(float(pot.days[-1]) for pot in pots)
        days = [last * point / CURVE_POINTS for point in range(1, CURVE_POINTS + 1)]
        drawn = tuple(zip(days, map(float, share_come(curve, days)), strict=True))
    return GerminationSeries(label, sum(pot.sown for pot in pots), course_of(pots), drawn)


def course_of(pots: list[Counts]) -> tuple[GerminationStep, ...]:
    """Return the running share: counts added up, or pooled where pots have days of their own."""
    if not are_looked_at_together(pots):
        return tuple(
            GerminationStep(step.day, step.share, step.low, step.high) for step in pot_steps(pots)
        )
    days = pots[0].days.tolist()
    new = np.sum([pot.new for pot in pots], axis=0)
    seen = steps(read_counts(sum(pot.sown for pot in pots), days, new.tolist()))
    return tuple(
        GerminationStep(day, share.x / share.n, share.low, share.high)
        for day, share in zip(seen.days, seen.shares, strict=True)
    )


def _course_note(sowing: Sowing, pots: list[Counts]) -> str:
    """Say how the course was reckoned where that is not the counts added up."""
    notes = ["The running share of all seeds at each look; between two looks it is not known."]
    if not are_looked_at_together(pots):
        notes.append(
            "The pots were looked at on days of their own: each step is the likeliest share of all"
            " seeds by that day (nonparametric maximum likelihood, Turnbull 1976), not the counts"
            " added up."
        )
    if left_out := pots_left_out(sowing):
        notes.append(left_out)
    return " ".join(notes)


def _check_replicates(sowing: Sowing) -> tuple[ReplicateCheck | None, str]:
    """Hold the pots of one sowing against the published tolerance, where they are of 100 seeds."""
    pots = list(sowing.replicates.all())
    if len(pots) < 2:
        return None, ""
    counted = [counts_of_pot(pot, sowing) for pot in pots]
    percents = [
        round(100 * counts.germinated / counts.sown) for counts in counted if counts is not None
    ]
    if len(percents) != len(pots):
        return None, "Not every pot has been looked at yet, so they are not compared."
    if len({pot.seeds for pot in pots}) > 1:
        return None, "The pots hold different numbers of seeds; the tolerance table does not apply."
    try:
        return check_replicates(percents, seeds_each=pots[0].seeds), ""
    except BadInput as no:
        return None, no.message


def packets_to_sow(viewer: Member, packets: QuerySet[Packet]) -> list[str]:
    """Return what a field for a packet offers: those in one's own hands, newest first."""
    mine = packets.filter(holder=viewer, seeds_left__gt=0).select_related("lot").order_by("-pk")
    return [f"{packet.number} {packet.lot.name_text}" for packet in mine[:300]]


def lots_to_sow(viewer: Member) -> QuerySet[Lot]:
    """Seed in one's own hands of which one has sown nothing yet, the newest harvest first."""
    in_hand = Packet.objects.filter(
        holder=viewer,
        state__in=[Packet.State.WITH_MEMBER, Packet.State.SENT],
        seeds_left__gt=0,
    )
    sown = Sowing.objects.filter(grower=viewer, withdrawn_at=None, packet__lot__isnull=False)
    first = in_hand.filter(lot=OuterRef("pk")).order_by("pk").values("number")[:1]
    # Asked once for the viewer and not once for each lot: nobody holds more than a few hundred.
    lots = Lot.objects.filter(pk__in=in_hand.values("lot"), withdrawn_at=None).exclude(
        pk__in=sown.values("packet__lot")
    )
    return lots.annotate(first_packet=Subquery(first)).order_by("-year", "-pk")


def sowings_beside(sowing: Sowing, viewer: Member) -> QuerySet[Sowing]:
    """Other sowings of the same lot, to compare with."""
    return (
        looked_at(sowings_visible_to(viewer), yes=True)
        .filter(packet__lot=sowing.packet.lot_id)
        .exclude(pk=sowing.pk)
        .order_by("-sown_on")
    )


def loaded(sowing: Sowing) -> Sowing:
    return (
        with_counts(Sowing.objects.filter(pk=sowing.pk))
        .prefetch_related("pretreatments")
        .select_related("packet__lot__taxon", "packet__lot__harvest__cross", "grower")
        .get()
    )
