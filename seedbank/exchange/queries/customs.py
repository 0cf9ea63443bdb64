"""What a customs form of a parcel says: description, count, weight, value, country of origin."""

import datetime
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.conf import settings

from crosses.base.countries import COUNTRY_NAMES
from seedbank.bank.models import Lot
from seedbank.calc.cautions import STANDING_LINE
from seedbank.exchange.models import CustomsWords, Parcel, ParcelItem
from seedbank.exchange.queries.slip import AddressLine, address_lines_of


@dataclass(frozen=True, slots=True)
class CustomsLine:
    """One kind in the parcel, as the small-lots rules want it listed: name and where it grew."""

    name: str
    packets: int
    origin: str


@dataclass(frozen=True, slots=True)
class CustomsPaper:
    """All that the contents of one parcel say; the address only for who may see it."""

    parcel_number: str
    society: str
    sent_from: str
    address: tuple[AddressLine, ...]
    country: str
    contents: str
    ticked: str
    tariff_number: str
    statement: str
    lines: tuple[CustomsLine, ...]
    packets: int
    weight_grams: int | None
    value: Decimal
    currency: str
    source: str
    checked_on: datetime.date
    standing_line: str = STANDING_LINE


def customs_papers(parcels: Iterable[Parcel], *, with_address: set[int]) -> list[CustomsPaper]:
    """Return one paper for each parcel that leaves the country; few queries, however many."""
    abroad = [parcel for parcel in parcels if parcel.member.country != settings.SOCIETY_COUNTRY]
    words = {one.country: one for one in CustomsWords.objects.all()}
    counted: dict[int, Counter[tuple[str, str]]] = {parcel.pk: Counter() for parcel in abroad}
    for item in ParcelItem.objects.filter(parcel__in=abroad, released_at=None).select_related(
        "line__lot__raised_by"
    ):
        lot = item.line.lot
        counted[item.parcel_id][lot.name_text, _origin(lot)] += 1
    addresses = address_lines_of(abroad, with_address)
    return [
        _paper(
            parcel,
            words.get(parcel.member.country) or words[""],
            counted[parcel.pk],
            addresses[parcel.pk],
        )
        for parcel in abroad
    ]


def customs_words_listed() -> list[CustomsWords]:
    return list(CustomsWords.objects.order_by("country"))


def _paper(
    parcel: Parcel,
    words: CustomsWords,
    counted: Counter[tuple[str, str]],
    address: tuple[AddressLine, ...],
) -> CustomsPaper:
    packets = counted.total()
    return CustomsPaper(
        parcel_number=parcel.number,
        society=settings.SOCIETY_NAME,
        sent_from=COUNTRY_NAMES[settings.SOCIETY_COUNTRY],
        address=address,
        country=COUNTRY_NAMES[parcel.member.country],
        contents=words.contents.replace("{packets}", str(packets)),
        ticked=words.get_ticked_display(),
        tariff_number=words.tariff_number,
        statement=words.statement,
        lines=tuple(
            CustomsLine(name, number, origin)
            for (name, origin), number in sorted(counted.items(), key=lambda pair: pair[0])
        ),
        packets=packets,
        weight_grams=parcel.weight_grams,
        value=words.value_per_packet * packets,
        currency=words.currency,
        source=words.source,
        checked_on=words.checked_on,
    )


def _origin(lot: Lot) -> str:
    """Return the country a lot's seed grew in: where it was collected, else its grower's."""
    return COUNTRY_NAMES[lot.wild_country or lot.raised_by.country]
