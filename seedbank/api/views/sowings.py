"""One's own sowings, and the two things a script writes: a sowing and a count."""

from collections.abc import Sequence
from typing import Any

from django.db.models import QuerySet
from django.http import Http404
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.base.clock import now
from seedbank.api.filters import GerminationFilters
from seedbank.api.once import written_once
from seedbank.api.serializers.course import OwnSowingDetailSerializer
from seedbank.api.serializers.germination import OwnSowingSerializer
from seedbank.api.serializers.sowing import (
    ClosedSerializer,
    CountSerializer,
    NewCountSerializer,
    NewSowingSerializer,
)
from seedbank.api.views.rows import NUMBER, ReadRows, no_rows, number_asked, read_sent
from seedbank.bank.access import packet_for_reading
from seedbank.sowings.access import sowing_for_writing, sowings_visible_to
from seedbank.sowings.actions.count import record_count
from seedbank.sowings.actions.sowing import close_sowing, sow
from seedbank.sowings.models import Replicate, Sowing
from seedbank.sowings.queries.history import HistoryRow, history_rows, with_history
from seedbank.sowings.queries.pages import sowing_facts


@extend_schema_view(
    list=extend_schema(summary="Your own sowings"),
    retrieve=extend_schema(summary="One of your sowings", parameters=[NUMBER]),
)
class SowingView(ReadRows):
    """One's own sowings; a key that may write sows and counts."""

    queryset = no_rows(Sowing)
    serializer_class = OwnSowingSerializer
    detail_serializer_class = OwnSowingDetailSerializer
    filterset_class = GerminationFilters
    number_kind = "sowing"

    def get_queryset(self) -> QuerySet[Sowing]:
        return with_history(sowings_visible_to(self.reader).filter(grower=self.reader))

    def rows(self, records: Sequence[Sowing]) -> list[HistoryRow]:
        return history_rows(records, self.reader)

    def told_of(self, record: Sowing) -> dict[str, Any]:
        return {"facts": sowing_facts(record)}

    @extend_schema(
        summary="Sow seed of a packet you have",
        request=NewSowingSerializer,
        responses={201: OwnSowingDetailSerializer},
    )
    @written_once
    def create(self, request: Request) -> Response:
        sent = read_sent(NewSowingSerializer(data=request.data))
        number = sent.pop("packet")
        try:
            packet = packet_for_reading(self.reader, number)
        except Http404:
            raise ValidationError({"packet": ["You can see no packet of this number."]}) from None
        sowing = sow(packet=packet, grower=self.reader, by=self.reader, at=now(), **sent)
        return Response(self.told_in_full(sowing.number), status=201)

    @extend_schema(
        summary="Count seedlings in a pot",
        parameters=[NUMBER],
        request=NewCountSerializer,
        responses={201: CountSerializer},
        filters=False,
    )
    @action(detail=True, methods=["post"])
    @written_once
    def counts(self, request: Request, number: str) -> Response:
        sowing = sowing_for_writing(self.reader, number_asked(number, kind="sowing"))
        sent = read_sent(NewCountSerializer(data=request.data))
        pot = _pot(sowing, sent.pop("pot", None))
        count = record_count(replicate=pot, by=self.reader, at=now(), **sent)
        return Response(CountSerializer(count).data, status=201)

    @extend_schema(
        summary="Close a sowing: nothing more is waited for",
        parameters=[NUMBER],
        request=ClosedSerializer,
        responses=OwnSowingDetailSerializer,
        filters=False,
    )
    @action(detail=True, methods=["post"])
    @written_once
    def close(self, request: Request, number: str) -> Response:
        sowing = sowing_for_writing(self.reader, number_asked(number, kind="sowing"))
        sent = read_sent(ClosedSerializer(data=request.data))
        close_sowing(sowing=sowing, by=self.reader, at=now(), **sent)
        return Response(self.told_in_full(sowing.number))


def _pot(sowing: Sowing, position: int | None) -> Replicate:
    pots = {pot.position: pot for pot in sowing.replicates.all()}
    if position is None and len(pots) == 1:
        return next(iter(pots.values()))
    if position not in pots:
        known = ", ".join(str(each) for each in sorted(pots))
        raise ValidationError({"pot": [f"This sowing has the pots {known}: say which."]})
    return pots[position]
