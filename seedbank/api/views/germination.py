"""Germination history: rows, groups of them, and the rows as CSV."""

from collections.abc import Iterator, Sequence
from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponseBase
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.decorators import action
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.base.clock import now
from seedbank.api.filters import GerminationFilters
from seedbank.api.paging import GroupPaging
from seedbank.api.renderers import TableRenderer, table
from seedbank.api.serializers.course import SowingDetailSerializer
from seedbank.api.serializers.germination import GerminationSerializer, SummarySerializer
from seedbank.api.views.rows import NUMBER, ReadRows, no_rows
from seedbank.members.models import Member
from seedbank.sowings.models import Sowing
from seedbank.sowings.queries.history import HistoryRow, history_rows, with_history
from seedbank.sowings.queries.narrowing import looked_at, sowings_in_history
from seedbank.sowings.queries.pages import sowing_facts
from seedbank.sowings.queries.summary import GROUPERS, group_sowings, pool_groups, read_group_by
from seedbank.sowings.queries.tables import HISTORY_HEADINGS, history_table

ROWS_AT_ONCE = 200


class GerminationView(ReadRows):
    """Germination history of the sowings one may see, of seed one may see."""

    queryset = no_rows(Sowing)
    serializer_class = GerminationSerializer
    detail_serializer_class = SowingDetailSerializer
    filterset_class = GerminationFilters
    renderer_classes = [JSONRenderer, TableRenderer]
    number_kind = "sowing"
    other_parameters: tuple[str, ...] = ()

    def get_queryset(self) -> QuerySet[Sowing]:
        return with_history(sowings_in_history(self.reader))

    def rows(self, records: Sequence[Sowing]) -> list[HistoryRow]:
        return history_rows(records, self.reader)

    def told_of(self, record: Sowing) -> dict[str, Any]:
        return {"facts": sowing_facts(record)}

    @extend_schema(
        summary="Germination history, a row a sowing",
        description=(
            "Every sowing you may see of seed you may see. `?format=csv` streams all of them as"
            " one table. Sowings that nobody has looked at yet are among them, with a share of null."
        ),
        responses={
            (200, "application/json"): GerminationSerializer(many=True),
            (200, "text/csv"): OpenApiTypes.STR,
        },
    )
    def list(self, request: Request) -> Any:
        if isinstance(request.accepted_renderer, TableRenderer):
            return self._table()
        return super().list(request)

    def _table(self) -> HttpResponseBase:
        sowings = self.filter_queryset(self.get_queryset()).order_by("pk")
        rows = history_table(_in_batches(sowings, self.reader))
        answer: HttpResponseBase = table(rows, HISTORY_HEADINGS, "germination.csv")
        return answer

    @extend_schema(
        summary="One sowing of the history",
        parameters=[NUMBER],
        responses={(200, "application/json"): SowingDetailSerializer},
    )
    def retrieve(self, request: Request, number: str) -> Response:
        return super().retrieve(request, number)

    @extend_schema(
        summary="Germination rates by group",
        description=(
            "Mean rate of each group with its interval, and what the next sowing may bring."
            " Sowings of one kind differ more than chance alone would have it, and both intervals"
            " allow for that (beta-binomial law). Open sowings count with what has come so far."
        ),
        parameters=[
            OpenApiParameter(
                "group_by",
                str,
                required=True,
                description=f"One or two, with a comma, of: {', '.join(GROUPERS)}.",
            ),
            OpenApiParameter("limit", int, description="Groups a page, 50 at most."),
            OpenApiParameter("offset", int, description="Groups passed over."),
        ],
        responses=SummarySerializer,
    )
    @action(
        detail=False,
        renderer_classes=[JSONRenderer],
        pagination_class=None,
        other_parameters=("group_by", "limit", "offset"),
    )
    def summary(self, request: Request) -> Response:
        group_by = read_group_by(request.query_params.get("group_by", ""))
        sowings = self.filter_queryset(sowings_in_history(self.reader))
        groups = group_sowings(sowings, group_by)
        pages = GroupPaging()
        shown = pages.paginate_queryset(groups, request, view=self) or []
        said = {
            "group_by": group_by,
            "reckoned_at": now(),
            "sowings_not_looked_at": looked_at(sowings, yes=False).count(),
            "groups": len(groups),
            "next": pages.get_next_link(),
            "previous": pages.get_previous_link(),
            "results": pool_groups(shown),
        }
        return Response(SummarySerializer(said, context={"group_by": group_by}).data)


def _in_batches(sowings: QuerySet[Sowing], reader: Member) -> Iterator[HistoryRow]:
    """Make rows of a few hundred sowings at a time, so that a large table needs little memory."""
    batch: list[Sowing] = []
    for sowing in sowings.iterator(chunk_size=ROWS_AT_ONCE):
        batch.append(sowing)
        if len(batch) == ROWS_AT_ONCE:
            yield from history_rows(batch, reader)
            batch = []
    yield from history_rows(batch, reader)
