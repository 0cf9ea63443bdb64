"""The list of the exchange that is open, or of a round that is named."""

from collections.abc import Sequence
from typing import Any

from django.db.models import QuerySet
from django.http import Http404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request

from crosses.base.clock import now, today
from seedbank.api.filters import ListFilters
from seedbank.api.paging import LinePaging
from seedbank.api.serializers.records import LineSerializer
from seedbank.api.views.rows import ReadRows, no_rows
from seedbank.exchange.access import (
    lines_visible_to,
    may_read_list,
    round_for_reading,
    rounds_visible_to,
)
from seedbank.exchange.models import ListLine, Round
from seedbank.exchange.queries.listing import ListedLine, lines_with_kinds, listed_lines


class ListView(ReadRows):
    """Lines of an exchange list that one may read."""

    queryset = no_rows(ListLine)
    serializer_class = LineSerializer
    filterset_class = ListFilters
    pagination_class = LinePaging
    other_parameters = ("round",)
    table_order = "line_number"

    def get_queryset(self) -> QuerySet[ListLine]:
        return lines_with_kinds(lines_visible_to(self.reader, self._round(), now()))

    def rows(self, records: Sequence[ListLine]) -> list[ListedLine]:
        return listed_lines(self._round(), records, self.reader, today().year)

    @extend_schema(
        summary="The exchange list",
        description="Without `round`, that of the newest round whose list you may read.",
        parameters=[OpenApiParameter("round", str, description="The round's short name.")],
    )
    def list(self, request: Request) -> Any:
        return super().list(request)

    def _round(self) -> Round:
        wanted = self.request.query_params.get("round")
        if wanted:
            return round_for_reading(self.reader, wanted)
        for found in rounds_visible_to(self.reader).order_by("-list_opens_at"):
            if may_read_list(self.reader, found, now()):
                return found
        raise Http404
