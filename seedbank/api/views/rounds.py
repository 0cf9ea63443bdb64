"""Rounds of the exchange: their rules, one's own wishes and result; the keeper's lines and runs."""

from collections.abc import Sequence
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.base.clock import now
from crosses.base.history import hold
from seedbank.api.conditional import demand_version
from seedbank.api.filters import RoundFilters
from seedbank.api.once import written_once
from seedbank.api.permissions import KeeperWithKey
from seedbank.api.serializers.keeping import SentWishesSerializer
from seedbank.api.serializers.society import (
    OwnResultSerializer,
    RoundSerializer,
    RunResultSerializer,
    WishesSerializer,
)
from seedbank.api.views.rows import ReadRows, no_rows, read_sent
from seedbank.exchange.access import may_keep, round_for_reading, rounds_visible_to
from seedbank.exchange.actions.wishes import cancel_wishes, save_wishes
from seedbank.exchange.models import AllocationRun, Round
from seedbank.exchange.queries.results import (
    last_run,
    measures_of,
    my_result,
    shortages_in,
)
from seedbank.exchange.queries.round import allowance_of, stage_of
from seedbank.exchange.queries.wishes import numbers_in, wish_list_of

SLUG = OpenApiParameter(
    "slug", OpenApiTypes.STR, OpenApiParameter.PATH, description="The round's short name."
)


@extend_schema_view(list=extend_schema(summary="Rounds of the exchange"))
class RoundView(ReadRows):
    """Rules, dates and draws are every member's to read."""

    queryset = no_rows(Round)
    serializer_class = RoundSerializer
    filterset_class = RoundFilters
    lookup_field = "slug"

    def get_queryset(self) -> QuerySet[Round]:
        return rounds_visible_to(self.reader)

    def told_with(self, records: Sequence[Round]) -> dict[str, Any]:
        return {"stages": {found.pk: stage_of(found, now()) for found in records}}

    @extend_schema(summary="One round", parameters=[SLUG])
    def retrieve(self, request: Request, slug: str) -> Response:
        return Response(self.told_in_full(slug))

    @extend_schema(
        summary="Your wishes of a round",
        parameters=[SLUG],
        responses=WishesSerializer,
        filters=False,
    )
    @action(detail=True, pagination_class=None)
    def wishes(self, request: Request, slug: str) -> Response:
        return Response(self._wishes(round_for_reading(self.reader, slug)))

    @extend_schema(
        summary="Put your wishes of a round",
        description="While wishes are open. The list takes the place of the one before.",
        parameters=[SLUG],
        request=SentWishesSerializer,
        responses=WishesSerializer,
        filters=False,
    )
    @wishes.mapping.put
    @written_once
    def put_wishes(self, request: Request, slug: str) -> Response:
        sent = read_sent(SentWishesSerializer(data=request.data))
        found = round_for_reading(self.reader, slug)
        # The round is what all acts about wishes lock.
        hold(found)
        demand_version(request, self._wishes(found))
        save_wishes(round=found, member=self.reader, by=self.reader, at=now(), **sent)
        return Response(self._wishes(found))

    @extend_schema(
        summary="Take yourself out of a round",
        parameters=[SLUG],
        responses={204: None},
        filters=False,
    )
    @wishes.mapping.delete
    @written_once
    def delete_wishes(self, request: Request, slug: str) -> Response:
        wish_list = wish_list_of(round_for_reading(self.reader, slug), self.reader)
        if wish_list is None:
            raise Http404
        cancel_wishes(wish_list=wish_list, by=self.reader, at=now())
        return Response(status=204)

    @extend_schema(
        summary="What you were given, and why",
        parameters=[SLUG],
        responses=OwnResultSerializer,
        filters=False,
    )
    @action(detail=True, pagination_class=None)
    def result(self, request: Request, slug: str) -> Response:
        found = round_for_reading(self.reader, slug)
        if not found.is_announced:
            raise PermissionDenied("The result is not announced yet.")
        own = my_result(self._run(found), self.reader)
        if own is None:
            raise Http404
        return Response(OwnResultSerializer(own).data)

    @extend_schema(
        summary="How the whole was shared out",
        description="For everybody once it is announced; for a keeper's key before.",
        parameters=[SLUG],
        responses=RunResultSerializer,
        filters=False,
    )
    @action(detail=True, pagination_class=None, url_path="sharing-out")
    def sharing_out(self, request: Request, slug: str) -> Response:
        found = round_for_reading(self.reader, slug)
        is_keepers = may_keep(self.reader) and KeeperWithKey().has_permission(request, self)
        if not (found.is_announced or is_keepers):
            raise PermissionDenied("The result is not announced yet.")
        run = self._run(found)
        told = {"run": run, "measures": measures_of(run), "short_lines": shortages_in(run)}
        return Response(RunResultSerializer(told).data)

    def _run(self, found: Round) -> AllocationRun:
        run = last_run(found)
        if run is None:
            raise Http404
        return run

    def _wishes(self, found: Round) -> Any:
        wish_list = wish_list_of(found, self.reader)
        main, reserve = numbers_in(wish_list)
        allowance = allowance_of(found, self.reader)
        told = {
            "round": found.slug,
            "takes_wishes": found.takes_wishes_at(now()) and found.frozen_at is None,
            "wishes_close_at": found.wishes_close_at,
            "main": main,
            "reserve": reserve,
            "changed_at": wish_list.changed_at if wish_list else None,
            "most_main": allowance.packets,
            "most_reserve": allowance.reserves,
            "allowance_words": allowance.words,
        }
        return WishesSerializer(told).data
