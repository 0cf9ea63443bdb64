"""What the packing table shows: how far each parcel is, and in which order to walk the store."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.conf import settings
from django.db.models import Count, Q, QuerySet

from crosses.base.countries import COUNTRY_NAMES
from seedbank.exchange.models import Parcel, ParcelItem

TRAY_ORDER = ("packet__place__walk_order", "packet__place__code", "packet__number")


@dataclass(frozen=True, slots=True)
class PackingRow:
    """One parcel on the board; never an address."""

    parcel: Parcel
    promised: int
    packed: int
    owed: int
    country: str
    is_abroad: bool
    state: str
    state_words: str


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the packing is, in parcels and in packets."""

    parcels: int
    in_hand: int
    closed: int
    posted: int
    packets: int
    packed: int


@dataclass(frozen=True, slots=True)
class Packer:
    """What one packer has done so far, for the party to see."""

    name: str
    packets: int
    parcels: int


@dataclass(frozen=True, slots=True)
class PickLine:
    """One packet to take from its place."""

    item: ParcelItem
    place: str
    number: str
    name: str
    line_number: int
    parcel_number: str


def with_progress(parcels: QuerySet[Parcel]) -> QuerySet[Parcel]:
    living = Q(items__released_at=None)
    return (
        parcels.filter(cancelled_at=None)
        .annotate(
            promised=Count("items", filter=living),
            packed=Count("items", filter=living & Q(items__packed_at__isnull=False)),
            owed=Count("items", filter=Q(items__is_owed=True)),
        )
        .order_by("number")
    )


def packing_rows(parcels: Iterable[Parcel]) -> list[PackingRow]:
    """Return parcels loaded by `with_progress` as rows of the board."""
    return [_row(parcel) for parcel in parcels]


def progress_of(parcels: QuerySet[Parcel]) -> Progress:
    living = parcels.filter(cancelled_at=None)
    items = ParcelItem.objects.filter(parcel__in=living, released_at=None)
    sums = items.aggregate(
        packets=Count("id"), packed=Count("id", filter=Q(packed_at__isnull=False))
    )
    counts = living.aggregate(
        parcels=Count("id"),
        in_hand=Count("id", filter=Q(packer__isnull=False, closed_at=None)),
        closed=Count("id", filter=Q(closed_at__isnull=False)),
        posted=Count("id", filter=Q(posted_on__isnull=False)),
    )
    return Progress(**counts, **sums)


def packers_of(parcels: QuerySet[Parcel]) -> list[Packer]:
    """Return who has packed how many packets, into how many parcels, the busiest first."""
    packed = ParcelItem.objects.filter(
        parcel__in=parcels.filter(cancelled_at=None), packed_at__isnull=False, released_at=None
    )
    rows = (
        packed.values("packed_by__name")
        .annotate(packets=Count("id"), parcels=Count("parcel", distinct=True))
        .order_by("-packets", "packed_by__name")
    )
    return [Packer(row["packed_by__name"], row["packets"], row["parcels"]) for row in rows]


def items_in_tray_order(parcels: Iterable[Parcel]) -> QuerySet[ParcelItem]:
    return (
        ParcelItem.objects.filter(parcel__in=list(parcels), released_at=None)
        .select_related("packet__place", "packet__lot__taxon", "line", "parcel")
        .order_by(*TRAY_ORDER)
    )


def pick_list(parcels: Iterable[Parcel]) -> list[PickLine]:
    """Return what is still to be taken from the store, in the order of a walk through it."""
    return [
        PickLine(
            item=item,
            place=str(item.packet.place or "no place on record"),
            number=item.packet.number,
            name=item.packet.lot.name_text,
            line_number=item.line.line_number,
            parcel_number=item.parcel.number,
        )
        for item in items_in_tray_order(parcels).filter(packed_at=None)
    ]


def released_items(parcel: Parcel) -> QuerySet[ParcelItem]:
    return (
        ParcelItem.objects.filter(parcel=parcel, released_at__isnull=False)
        .select_related("packet__lot", "line", "released_by")
        .order_by("released_at")
    )


def _row(parcel: Parcel) -> PackingRow:
    state, words = _state(parcel)
    return PackingRow(
        parcel=parcel,
        promised=parcel.promised,  # type: ignore[attr-defined]
        packed=parcel.packed,  # type: ignore[attr-defined]
        owed=parcel.owed,  # type: ignore[attr-defined]
        country=COUNTRY_NAMES[parcel.member.country],
        is_abroad=parcel.member.country != settings.SOCIETY_COUNTRY,
        state=state,
        state_words=words,
    )


def _state(parcel: Parcel) -> tuple[str, str]:
    if parcel.posted_on:
        return "sent", "posted"
    if parcel.closed_at:
        return "closed", "closed, to be posted"
    if parcel.packer:
        return "in_hand", f"in hand: {parcel.packer.name}"
    return "waiting", "waiting"
