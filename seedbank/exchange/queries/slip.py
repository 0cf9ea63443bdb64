"""What stands on a packing slip: what is in the parcel, and nothing about what is not."""

import unicodedata
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.conf import settings

from crosses.base.countries import COUNTRY_NAMES
from crosses.calc.rates import Share
from seedbank.bank.kinds import cautions_of_lots
from seedbank.bank.models import Packet
from seedbank.exchange.access import report_path
from seedbank.exchange.models import Parcel, ParcelItem
from seedbank.exchange.queries.bars import KIND_PREFETCH, KIND_RELATIONS
from seedbank.exchange.queries.listing import origin_words
from seedbank.exchange.queries.packing import TRAY_ORDER
from seedbank.members.models import Address, Member
from seedbank.sowings.queries import germination_of_lots


@dataclass(frozen=True, slots=True)
class AddressLine:
    """One line of an address and the direction its script is written in."""

    text: str
    direction: str


@dataclass(frozen=True, slots=True)
class SlipLine:
    """One packet in the parcel."""

    packet_number: str
    address: str
    line_number: int
    name: str
    seeds: str
    year: int
    origin: str
    place: str
    germination: Share | None
    advice: str
    caution: str


@dataclass(frozen=True, slots=True)
class Slip:
    """All that one slip says. The address is empty for a reader who may not see it."""

    society: str
    round_name: str
    parcel_number: str
    member_number: str
    member_name: str
    address: tuple[AddressLine, ...]
    is_abroad: bool
    country: str
    lines: tuple[SlipLine, ...]
    # Where whoever holds the slip reports what came up, without an account.
    report_address: str


def slips_for(parcels: Iterable[Parcel], viewer: Member, *, with_address: set[int]) -> list[Slip]:
    """Return one slip a parcel; only those in `with_address` (by key) carry the address.

    Few queries, however many parcels.
    """
    known = list(parcels)
    items = (
        ParcelItem.objects.filter(parcel__in=known, released_at=None)
        .select_related("packet__place", "line", *(f"line__{path}" for path in KIND_RELATIONS))
        .prefetch_related(f"line__{KIND_PREFETCH}")
        .order_by(*TRAY_ORDER)
    )
    by_parcel: dict[int, list[ParcelItem]] = defaultdict(list)
    for item in items:
        by_parcel[item.parcel_id].append(item)
    lots = {item.line.lot_id for found in by_parcel.values() for item in found}
    germination = germination_of_lots(sorted(lots), viewer)
    cautions = cautions_of_lots(item.line.lot for found in by_parcel.values() for item in found)
    addresses = address_lines_of(known, with_address)
    return [
        Slip(
            society=settings.SOCIETY_NAME,
            round_name=parcel.round.name,
            parcel_number=parcel.number,
            member_number=parcel.member.number,
            member_name=parcel.member.name,
            address=addresses[parcel.pk],
            is_abroad=parcel.member.country != settings.SOCIETY_COUNTRY,
            country=COUNTRY_NAMES[parcel.member.country],
            report_address=f"{settings.SITE_ADDRESS}{report_path(parcel.number)}",
            lines=tuple(_slip_line(item, germination, cautions) for item in by_parcel[parcel.pk]),
        )
        for parcel in known
    ]


def address_lines_of(
    parcels: Iterable[Parcel], with_address: set[int]
) -> dict[int, tuple[AddressLine, ...]]:
    """Return the address of each parcel in `with_address`, by key, and nothing for the others."""
    known = list(parcels)
    shown = [parcel.member_id for parcel in known if parcel.pk in with_address]
    addresses = {address.member_id: address for address in Address.objects.filter(member__in=shown)}
    return {
        parcel.pk: _address_lines(parcel, addresses.get(parcel.member_id))
        if parcel.pk in with_address
        else ()
        for parcel in known
    }


def _address_lines(parcel: Parcel, address: Address | None) -> tuple[AddressLine, ...]:
    lines = [
        parcel.member.name,
        *(address.lines.splitlines() if address else ["no address on record"]),
    ]
    if address and address.country != settings.SOCIETY_COUNTRY:
        # Country last, alone and in capitals, in the language of the posting country.
        lines.append(COUNTRY_NAMES[address.country].upper())
    return tuple(AddressLine(line.strip(), direction_of(line)) for line in lines if line.strip())


def direction_of(text: str) -> str:
    """Return "rtl" if the first letter with a direction is Arabic, Hebrew or the like.

    >>> direction_of("12 שדרות רוטשילד"), direction_of("1 Nowhere Row")
    ('rtl', 'ltr')
    """
    for character in text:
        direction = unicodedata.bidirectional(character)
        if direction in {"R", "AL"}:
            return "rtl"
        if direction == "L":
            return "ltr"
    return "ltr"


def _slip_line(
    item: ParcelItem, germination: dict[int, Share], cautions: dict[int, str]
) -> SlipLine:
    lot, packet = item.line.lot, item.packet
    return SlipLine(
        packet_number=packet.number,
        address=f"{settings.SITE_ADDRESS}/s/{packet.number}",
        line_number=item.line.line_number,
        name=lot.name_text,
        seeds=_seeds(packet),
        year=lot.year,
        origin=origin_words(lot),
        place=str(packet.place or ""),
        germination=germination.get(lot.pk),
        advice=_advice(item),
        caution=cautions[lot.pk],
    )


def _advice(item: ParcelItem) -> str:
    """Return the sowing advice for a lot's kind, else for its seed parent's."""
    lot = item.line.lot
    parent = lot.harvest.cross.seed_parent.taxon if lot.harvest else None
    return next(
        (taxon.sowing_advice for taxon in (lot.taxon, parent) if taxon and taxon.sowing_advice), ""
    )


def _seeds(packet: Packet) -> str:
    """Say what lies in a packet; once it is sent, what lay in it then."""
    if packet.is_pinch:
        return "a pinch"
    is_here = packet.state in {Packet.State.HELD, Packet.State.PACKED}
    seeds = packet.seeds_left if is_here else packet.seeds
    return "1 seed" if seeds == 1 else f"{seeds} seeds"
