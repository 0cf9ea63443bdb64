"""The chain of a packet: back to the flower, forward to the last count.

Everybody sees as far along it as they may.
"""

import datetime
from dataclasses import dataclass

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.calc.rates import Share, wilson
from crosses.models import Cross, Harvest, Plant, Pollination
from crosses.queries import cross_formula
from seedbank.bank.models import DonationLine, Lot, Packet
from seedbank.exchange.models import ParcelItem
from seedbank.members.models import Member
from seedbank.sowings.access import sowings_visible_to
from seedbank.sowings.models import Sowing
from seedbank.sowings.queries.counted import counts_of_sowing


@dataclass(frozen=True)
class ParentLink:
    """A parent of the cross; the record itself only where the person may see it."""

    role: str
    name_text: str
    plant: Plant | None


@dataclass(frozen=True)
class CountLink:
    counted_on: datetime.date
    day: int
    pot: int
    newly_seen: int
    total: int


@dataclass(frozen=True)
class SowingLink:
    sowing: Sowing
    counts: tuple[CountLink, ...]
    share: Share | None
    is_open: bool


@dataclass(frozen=True)
class MovementLink:
    """A movement without the name of anybody it is not this person's business to know."""

    step: int
    at: datetime.datetime
    words: str
    place: str
    reference: str
    note: str


@dataclass(frozen=True)
class Chain:
    """Everything from the flower to the counts, in the order in which it happened.

    `cross`, `pollinations` and `harvest` are empty where the seed came without records, or where
    the grower keeps the cross to themselves; `formula` is what the lot's label says in either case.
    """

    packet: Packet
    lot: Lot
    formula: str
    parents: tuple[ParentLink, ...]
    cross: Cross | None
    pollinations: tuple[Pollination, ...]
    harvest: Harvest | None
    donation_lines: tuple[DonationLine, ...]
    movements: tuple[MovementLink, ...]
    promise: ParcelItem | None
    sowings: tuple[SowingLink, ...]
    is_private_cross: bool


def chain_of(packet: Packet, viewer: Member) -> Chain:
    """Walk the chain of a packet the viewer may see.

    The number of queries does not grow with the number of checks, sowings or counts.
    """
    lot = Lot.objects.select_related(
        "harvest__cross__seed_parent", "harvest__cross__pollen_parent", "taxon"
    ).get(pk=packet.lot_id)
    recorded = lot.harvest.cross if lot.harvest else None
    cross = (
        crosses_visible_to(viewer).filter(pk=recorded.pk).select_related("grower").first()
        if recorded
        else None
    )
    return Chain(
        packet=packet,
        lot=lot,
        formula=cross_formula(recorded) if recorded else lot.name_text,
        parents=_parents(recorded, viewer) if recorded else (),
        cross=cross,
        pollinations=_pollinations(lot) if cross else (),
        harvest=lot.harvest if cross else None,
        donation_lines=tuple(
            lot.donation_lines.select_related("donation").order_by("donation__offered_at")
        ),
        movements=_movements(packet, viewer),
        promise=_promise(packet, viewer),
        sowings=_sowings(packet, viewer),
        is_private_cross=recorded is not None and cross is None,
    )


def _parents(cross: Cross, viewer: Member) -> tuple[ParentLink, ...]:
    shares = list(cross.pollen_shares.select_related("plant"))
    named = [("seed parent", cross.seed_parent)]
    if cross.pollen_parent:
        named.append(("pollen parent", cross.pollen_parent))
    named += [("pollen parent (mixed)", share.plant) for share in shares]
    visible = set(
        plants_visible_to(viewer)
        .filter(pk__in=[plant.pk for _role, plant in named])
        .values_list("pk", flat=True)
    )
    links = [
        ParentLink(role, plant.name_text, plant if plant.pk in visible else None)
        for role, plant in named
    ]
    if len(named) == 1:
        links.append(ParentLink("pollen", cross.get_pollen_display(), None))
    return tuple(links)


def _pollinations(lot: Lot) -> tuple[Pollination, ...]:
    return tuple(
        Pollination.objects.filter(harvests__harvest=lot.harvest)
        .prefetch_related("checks", "touch_ups")
        .order_by("pollinated_on", "id")
    )


def _movements(packet: Packet, viewer: Member) -> tuple[MovementLink, ...]:
    may_see_all = viewer.is_keeper or packet.holder_id == viewer.pk
    return tuple(
        MovementLink(
            step=movement.step,
            at=movement.at,
            words=movement.get_kind_display(),
            place=movement.place.code
            if movement.place and (may_see_all or not movement.place.owner_id)
            else "",
            reference=movement.reference if may_see_all else "",
            note=movement.note if may_see_all else "",
        )
        for movement in packet.movements.select_related("place")
    )


def _promise(packet: Packet, viewer: Member) -> ParcelItem | None:
    promise = (
        packet.promises.select_related("parcel__round", "line").filter(released_at=None).first()
    )
    if promise is None or not (viewer.is_keeper or promise.parcel.member_id == viewer.pk):
        return None
    return promise


def _sowings(packet: Packet, viewer: Member) -> tuple[SowingLink, ...]:
    sowings = (
        sowings_visible_to(viewer)
        .filter(packet=packet)
        .prefetch_related("replicates__counts", "pretreatments")
        .order_by("sown_on", "id")
    )
    return tuple(_sowing_link(sowing) for sowing in sowings)


def _sowing_link(sowing: Sowing) -> SowingLink:
    counts = sorted(
        (
            (count.counted_on, pot.position, count.newly_seen)
            for pot in sowing.replicates.all()
            for count in pot.counts.all()
            if not count.is_withdrawn
        ),
    )
    total = 0
    links = []
    for counted_on, pot, newly_seen in counts:
        total += newly_seen
        links.append(
            CountLink(counted_on, (counted_on - sowing.sown_on).days, pot, newly_seen, total)
        )
    seen = counts_of_sowing(sowing)
    share = wilson(seen.germinated, seen.sown) if seen else None
    return SowingLink(sowing, tuple(links), share, sowing.closed_on is None)
