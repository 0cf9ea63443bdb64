"""Seed lots, with what came into them and went out.

The amount of a lot is the seed in its packets that has not left: been sown, sent or discarded. Its
transactions add up to that. Seed that is not in packets yet is in no transaction.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from rest_framework.exceptions import ParseError
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.access import crosses_visible_to
from crosses.queries.parentage import Parentage, parentage_of
from seedbank.api.brapi.envelope import (
    NOT_KEPT,
    PAGING,
    BrapiView,
    Narrow,
    single,
    without_unknown,
)
from seedbank.bank.models import Lot, Movement
from seedbank.members.models import Member
from seedbank.transfer.stock import COMES_IN, GOES_OUT, lots_with_stock, seed_movements

UNITS = "seeds"
_GERMPLASM = frozenset({"germplasmDbId", "germplasmName"})
_CROSS = frozenset({"crossDbId", "crossName"})


def _filters(reader: Member, lot: str) -> Mapping[str, Narrow]:
    """Return the filters of lots, or with `lot` a path to them, of what belongs to lots."""

    def of_cross(records: QuerySet[Any], **facts: str) -> QuerySet[Any]:
        crosses = crosses_visible_to(reader).filter(**facts)
        return records.filter(**{f"{lot}harvest__cross__in": crosses})

    return {
        "commonCropName": lambda records, value: records.filter(
            **{f"{lot}taxon__genus__iexact": value}
        ),
        "crossDbId": lambda records, value: of_cross(records, number=value),
        "crossName": lambda records, value: of_cross(records, own_number=value),
        # Seed of a cross is no plant yet, and other seed is of no plant that is recorded.
        "germplasmDbId": lambda records, value: records.none(),
        "germplasmName": lambda records, value: records.filter(
            **{f"{lot}harvest": None, f"{lot}name_text__iexact": value}
        ),
        "seedLotDbId": lambda records, value: records.filter(**{f"{lot}number": value}),
    }


def _lots_told(reader: Member, lots: Sequence[Lot]) -> list[dict[str, Any]]:
    parentages = parentage_of(reader, [lot.harvest.cross for lot in lots if lot.harvest])
    return [_told(lot, parentages) for lot in lots]


def _told(lot: Any, parentages: Mapping[int, Parentage]) -> dict[str, Any]:
    is_packeted = lot.packeted_at is not None
    amount = (lot.seeds_here or 0) if is_packeted else lot.seeds
    return without_unknown(
        {
            "additionalInfo": without_unknown(
                {
                    "amountIs": "seed in its packets" if is_packeted else "seed as counted",
                    "origin": lot.get_origin_display(),
                    "seedCounting": lot.get_seed_counting_display(),
                    "year": str(lot.year),
                }
            ),
            "amount": amount,
            "units": UNITS,
            "contentMixture": [_content(lot, parentages)],
            "createdDate": lot.packeted_at.isoformat() if is_packeted else None,
            "lastUpdated": lot.moved_at.isoformat() if is_packeted else None,
            "seedLotDbId": lot.number,
            "seedLotDescription": f"{lot.name_text}, {lot.year}",
            "seedLotName": lot.name_text,
        }
    )


def _content(lot: Lot, parentages: Mapping[int, Parentage]) -> dict[str, Any]:
    """Tell what the seed is: of a cross where the reader may know it, else by its written name."""
    told: dict[str, Any] = {"germplasmName": lot.name_text, "mixturePercentage": 100}
    parentage = parentages.get(lot.harvest.cross_id) if lot.harvest else None
    if parentage and parentage.cross and lot.harvest:
        told |= {"crossDbId": parentage.cross, "crossName": lot.harvest.cross.own_number}
        del told["germplasmName"]
    return told


class SeedLotList(BrapiView):
    parameters = NOT_KEPT | PAGING | _GERMPLASM | _CROSS | {"commonCropName", "seedLotDbId"}

    def get(self, request: Request) -> Response:
        lots = self.narrowed(lots_with_stock(self.reader), _filters(self.reader, ""))
        return self.listed(lots, lambda page: _lots_told(self.reader, page))


class SeedLotDetail(BrapiView):
    def get(self, request: Request, seedLotDbId: str) -> Response:  # noqa: N803  the standard's
        lot = get_object_or_404(lots_with_stock(self.reader), number=seedLotDbId)
        return single(_lots_told(self.reader, [lot])[0])


def _of_number(movements: QuerySet[Movement], number: str) -> QuerySet[Movement]:
    packet, _, step = number.rpartition("-")
    if not (step.isascii() and step.isdigit() and len(step) < 6):
        return movements.none()
    return movements.filter(packet__number=packet, step=int(step))


def _transaction_told(movement: Any) -> dict[str, Any]:
    lot = movement.packet.lot.number
    side = "toSeedLotDbId" if movement.direction == COMES_IN else "fromSeedLotDbId"
    return {
        "additionalInfo": {"packet": movement.packet.number},
        "amount": movement.amount,
        side: lot,
        "transactionDbId": f"{movement.packet.number}-{movement.step}",
        "transactionDescription": movement.get_kind_display(),
        "transactionTimestamp": movement.at.isoformat(),
        "units": UNITS,
    }


class TransactionList(BrapiView):
    parameters = (
        NOT_KEPT
        | PAGING
        | _GERMPLASM
        | _CROSS
        | {"commonCropName", "seedLotDbId", "transactionDbId"}
    )

    def get(self, request: Request) -> Response:
        filters = {**_filters(self.reader, "packet__lot__"), "transactionDbId": _of_number}
        movements = self.narrowed(seed_movements(self.reader), filters)
        return self.listed(movements, lambda page: [_transaction_told(each) for each in page])


class SeedLotTransactionList(BrapiView):
    parameters = PAGING | {"transactionDbId", "transactionDirection"}

    def get(self, request: Request, seedLotDbId: str) -> Response:  # noqa: N803  the standard's
        lot = get_object_or_404(lots_with_stock(self.reader), number=seedLotDbId)
        direction = request.query_params.get("transactionDirection", "BOTH").upper()
        if direction not in (COMES_IN, GOES_OUT, "BOTH"):
            raise ParseError("transactionDirection: TO, FROM or BOTH.")
        directions = (COMES_IN, GOES_OUT) if direction == "BOTH" else (direction,)
        movements = seed_movements(self.reader, directions).filter(packet__lot=lot)
        movements = self.narrowed(movements, {"transactionDbId": _of_number})
        return self.listed(movements, lambda page: [_transaction_told(each) for each in page])
