"""What the society's destination rules say of a parcel: to be asked about, never to be relied on."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from crosses.models import DestinationFlag
from seedbank.bank.kinds import kinds_of_lots
from seedbank.exchange.models import Parcel, ParcelItem
from seedbank.exchange.queries.bars import flags_met


@dataclass(frozen=True, slots=True)
class PaperNote:
    """One rule that some packets of a parcel meet, with where it comes from."""

    kind: str
    words: str
    source: str
    checked_on: datetime.date
    checked_by: str
    packets: tuple[str, ...]


def paper_notes(parcel: Parcel) -> list[PaperNote]:
    """Return the rules of a parcel's destination that its packets meet, strictest first."""
    flags = list(DestinationFlag.objects.filter(country__in=["", parcel.member.country]))
    items = list(_items(parcel))
    kinds = kinds_of_lots([item.line.lot for item in items])
    met: dict[int, list[str]] = {}
    for item in items:
        for flag in flags_met(kinds[item.line.lot_id], flags):
            met.setdefault(flag.pk, []).append(item.packet.number)
    order = [
        DestinationFlag.Kind.BARRED,
        DestinationFlag.Kind.QUARANTINE,
        DestinationFlag.Kind.PROTECTED,
    ]
    return [
        PaperNote(
            kind=flag.get_kind_display(),
            words=flag.words,
            source=flag.source,
            checked_on=flag.checked_on,
            checked_by=flag.checked_by,
            packets=tuple(met[flag.pk]),
        )
        for flag in sorted(
            flags, key=lambda flag: (order.index(DestinationFlag.Kind(flag.kind)), flag.pk)
        )
        if flag.pk in met
    ]


def _items(parcel: Parcel) -> Iterable[ParcelItem]:
    return (
        ParcelItem.objects.filter(parcel=parcel, released_at=None)
        .select_related("packet", "line__lot__taxon")
        .order_by("packet__number")
    )
