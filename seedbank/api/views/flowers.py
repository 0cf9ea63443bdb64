"""Flowers that were pollinated, what was seen of them, and their harvests."""

from collections.abc import Sequence
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.access import (
    cross_for_writing,
    harvests_visible_to,
    pollination_for_reading,
    pollination_for_writing,
    pollinations_visible_to,
)
from crosses.actions.capsule import record_check
from crosses.actions.harvest import log_harvest
from crosses.actions.pollination import add_touch_up, change_pollination, log_pollination
from crosses.base.clock import now
from crosses.models import Harvest, Pollination
from crosses.queries.written import cross_formula
from seedbank.api.filters import HarvestFilters, PollinationFilters
from seedbank.api.once import written_once
from seedbank.api.serializers.growing import (
    ChangedPollinationSerializer,
    NewCheckSerializer,
    NewHarvestSerializer,
    NewPollinationSerializer,
    NewTouchUpSerializer,
)
from seedbank.api.serializers.society import HarvestRecordSerializer, PollinationRecordSerializer
from seedbank.api.views.finding import named
from seedbank.api.views.rows import NUMBER, ReadRows, no_rows, number_asked, read_sent

OF_CROSS = ("cross__seed_parent", "cross__pollen_parent")
NO_CROSS = "You can see no cross of this number."


@extend_schema_view(
    list=extend_schema(summary="Flowers that were pollinated"),
    retrieve=extend_schema(summary="One pollination", parameters=[NUMBER]),
)
class PollinationView(ReadRows):
    """Pollinations of crosses one may see, with what was seen of their capsules."""

    queryset = no_rows(Pollination)
    serializer_class = PollinationRecordSerializer
    filterset_class = PollinationFilters
    number_kind = "pollination"

    def get_queryset(self) -> QuerySet[Pollination]:
        standing = pollinations_visible_to(self.reader).filter(withdrawn_at=None)
        return standing.select_related(*OF_CROSS).prefetch_related(
            "checks", "touch_ups", "cross__pollen_shares__plant"
        )

    def told_with(self, records: Sequence[Pollination]) -> dict[str, Any]:
        return {"formulas": {each.cross_id: cross_formula(each.cross) for each in records}}

    @extend_schema(
        summary="Log a pollination",
        request=NewPollinationSerializer,
        responses={201: PollinationRecordSerializer},
    )
    @written_once
    def create(self, request: Request) -> Response:
        sent = read_sent(NewPollinationSerializer(data=request.data))
        number = sent.pop("cross")
        cross = named("cross", lambda: cross_for_writing(self.reader, number), NO_CROSS)
        made = log_pollination(cross=cross, by=self.reader, at=now(), **sent)
        return Response(self.told_in_full(made.number), status=201)

    @extend_schema(
        summary="Correct a pollination",
        parameters=[NUMBER],
        request=ChangedPollinationSerializer,
        responses=PollinationRecordSerializer,
    )
    @written_once
    def partial_update(self, request: Request, number: str) -> Response:
        wanted = number_asked(number, kind=self.number_kind)
        sent = read_sent(ChangedPollinationSerializer(data=request.data))
        flower = self.held(lambda: pollination_for_writing(self.reader, wanted))
        change_pollination(pollination=flower, by=self.reader, at=now(), **sent)
        return Response(self.told_in_full(wanted))

    @extend_schema(
        summary="Write down what was seen of a capsule",
        parameters=[NUMBER],
        request=NewCheckSerializer,
        responses={201: PollinationRecordSerializer},
        filters=False,
    )
    @action(detail=True, methods=["post"])
    @written_once
    def checks(self, request: Request, number: str) -> Response:
        flower = pollination_for_writing(self.reader, number_asked(number, kind=self.number_kind))
        sent = read_sent(NewCheckSerializer(data=request.data))
        record_check(pollination=flower, by=self.reader, at=now(), **sent)
        return Response(self.told_in_full(flower.number), status=201)

    @extend_schema(
        summary="Write down a second load of pollen on the same flower",
        parameters=[NUMBER],
        request=NewTouchUpSerializer,
        responses={201: PollinationRecordSerializer},
        filters=False,
    )
    @action(detail=True, methods=["post"], url_path="touch-ups", url_name="touch-ups")
    @written_once
    def touch_ups(self, request: Request, number: str) -> Response:
        flower = pollination_for_writing(self.reader, number_asked(number, kind=self.number_kind))
        sent = read_sent(NewTouchUpSerializer(data=request.data))
        add_touch_up(pollination=flower, by=self.reader, at=now(), **sent)
        return Response(self.told_in_full(flower.number), status=201)


@extend_schema_view(
    list=extend_schema(summary="Harvests"),
    retrieve=extend_schema(summary="One harvest", parameters=[NUMBER]),
)
class HarvestView(ReadRows):
    """Harvests of crosses one may see, with the flowers their capsules came from."""

    queryset = no_rows(Harvest)
    serializer_class = HarvestRecordSerializer
    filterset_class = HarvestFilters
    number_kind = "harvest"

    def get_queryset(self) -> QuerySet[Harvest]:
        standing = harvests_visible_to(self.reader).filter(withdrawn_at=None)
        return standing.select_related(*OF_CROSS).prefetch_related(
            "pollinations__pollination", "samples", "cross__pollen_shares__plant"
        )

    def told_with(self, records: Sequence[Harvest]) -> dict[str, Any]:
        return {"formulas": {each.cross_id: cross_formula(each.cross) for each in records}}

    @extend_schema(
        summary="Log a harvest",
        request=NewHarvestSerializer,
        responses={201: HarvestRecordSerializer},
    )
    @written_once
    def create(self, request: Request) -> Response:
        sent = read_sent(NewHarvestSerializer(data=request.data))
        number = sent.pop("cross")
        cross = named("cross", lambda: cross_for_writing(self.reader, number), NO_CROSS)
        capsules = [
            (self._flower(each["pollination"]), each["capsules"]) for each in sent.pop("capsules")
        ]
        samples = [(each["seeds"], each["grams"]) for each in sent.pop("samples", ())]
        made = log_harvest(
            cross=cross, by=self.reader, at=now(), capsules=capsules, samples=samples, **sent
        )
        return Response(self.told_in_full(made.number), status=201)

    def _flower(self, number: str) -> Pollination:
        words = "You can see no pollination of this number."
        return named("capsules", lambda: pollination_for_reading(self.reader, number), words)
