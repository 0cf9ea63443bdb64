"""Germination history: rows, groups of them, and the rows as CSV."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from seedbank.api.filters import GerminationFilters
from seedbank.api.paging import GroupPaging
from seedbank.api.renderers import TableRenderer, table
from seedbank.api.serializers.comparing import SowingsComparedSerializer
from seedbank.api.serializers.course import SowingDetailSerializer
from seedbank.api.serializers.germination import (
    CoursesSerializer,
    GerminationSerializer,
    SummarySerializer,
)
from seedbank.api.views.rows import NUMBER, ReadRows, in_batches, no_rows, number_asked
from seedbank.formats.tables.writing import Value
from seedbank.sowings.models import Sowing
from seedbank.sowings.queries.comparing import sowings_compared
from seedbank.sowings.queries.grouping import GROUPERS
from seedbank.sowings.queries.grouptables import course_table, summary_table
from seedbank.sowings.queries.history import HistoryRow, history_rows, with_history
from seedbank.sowings.queries.narrowing import looked_at, sowings_in_history
from seedbank.sowings.queries.pages import sowing_facts
from seedbank.sowings.queries.summary import (
    GroupSowings,
    group_sowings,
    pool_groups,
    read_group_by,
)
from seedbank.sowings.queries.tables import HISTORY_HEADINGS, history_table

GROUP_NAMES = ("group_by", "limit", "offset")
GROUP_PARAMETERS = [
    OpenApiParameter(
        "group_by",
        str,
        description="One or two, with a comma between, of: " + ", ".join(GROUPERS) + ".",
    ),
    OpenApiParameter("limit", int, description="Groups a page, 50 at most."),
    OpenApiParameter("offset", int, description="Groups passed over."),
]
GroupTable = Callable[
    [tuple[str, ...], Sequence[GroupSowings]], tuple[Sequence[str], Iterable[Sequence[Value]]]
]


class GerminationView(ReadRows):
    """Germination history of the sowings one may see, of seed one may see."""

    queryset = no_rows(Sowing)
    serializer_class = GerminationSerializer
    detail_serializer_class = SowingDetailSerializer
    filterset_class = GerminationFilters
    number_kind = "sowing"
    tables = frozenset({"list", "summary", "courses"})
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
        return super().list(request)

    def as_table(self) -> Any:
        sowings = self.filter_queryset(self.get_queryset()).order_by("pk")
        told = (row for batch in in_batches(sowings) for row in self.rows(batch))
        return table(history_table(told), HISTORY_HEADINGS, "germination.csv")

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
            "Mean rate of each group with its interval, what the next sowing may bring, and when"
            " half had come. Sowings of one kind differ more than chance alone would have it, and"
            " the intervals allow for that (beta-binomial law). Open sowings count with what has"
            " come so far. Only sowings whose rows you may read are added up."
        ),
        parameters=GROUP_PARAMETERS,
        responses={
            (200, "application/json"): SummarySerializer,
            (200, "text/csv"): OpenApiTypes.STR,
        },
    )
    @action(detail=False, pagination_class=None, other_parameters=GROUP_NAMES)
    def summary(self, request: Request) -> Any:
        group_by = read_group_by(request.query_params.get("group_by", ""))
        return self._groups(group_by, SummarySerializer, summary_table)

    @extend_schema(
        summary="Germination by day, of all or by group",
        description=(
            "The share of all seeds that had come by each day, with its interval, from sowings"
            " looked at on days of their own (nonparametric estimate of Turnbull, 1976). Without"
            " `group_by` all that is asked for is one group."
        ),
        parameters=GROUP_PARAMETERS,
        responses={
            (200, "application/json"): CoursesSerializer,
            (200, "text/csv"): OpenApiTypes.STR,
        },
    )
    @action(detail=False, pagination_class=None, other_parameters=GROUP_NAMES)
    def courses(self, request: Request) -> Any:
        group_by = read_group_by(request.query_params.get("group_by", ""), fewest=0)
        return self._groups(group_by, CoursesSerializer, course_table)

    @extend_schema(
        summary="Compare two sowings",
        description="How many came and how soon, with every test that the counts allow.",
        parameters=[
            NUMBER,
            OpenApiParameter("other", str, required=True, description="The other sowing's number."),
        ],
        responses=SowingsComparedSerializer,
        filters=False,
    )
    @action(detail=True, pagination_class=None)
    def comparison(self, request: Request, number: str) -> Response:
        first = self._sowing(number)
        second = self._sowing(request.query_params.get("other", ""), field="other")
        return Response(SowingsComparedSerializer(sowings_compared(first, second)).data)

    def _sowing(self, number: str, field: str = "number") -> Sowing:
        wanted = number_asked(number, kind="sowing", field=field)
        return get_object_or_404(self.get_queryset(), number=wanted)

    def _groups(
        self,
        group_by: tuple[str, ...],
        serializer: type[SummarySerializer | CoursesSerializer],
        as_table: GroupTable,
    ) -> Any:
        sowings = self.filter_queryset(sowings_in_history(self.reader))
        groups = group_sowings(sowings, group_by, self.reader)
        if isinstance(self.request.accepted_renderer, TableRenderer):
            heading, rows = as_table(group_by, groups)
            return table(rows, heading, f"germination-{self.action}.csv")
        pages = GroupPaging()
        shown = pages.paginate_queryset(groups, self.request, view=self) or []
        said = {
            "group_by": group_by,
            "sowings_not_looked_at": looked_at(sowings, yes=False).count(),
            "groups": len(groups),
            "next": pages.get_next_link(),
            "previous": pages.get_previous_link(),
            "results": pool_groups(shown),
        }
        return Response(serializer(said, context={"group_by": group_by}).data)
