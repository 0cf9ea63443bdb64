"""What all reading views do: take a page of records, and make rows of it in a few queries."""

from collections.abc import Callable, Iterator, Sequence
from itertools import islice
from typing import Any, TypeVar, cast

from django.db.models import Model, QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.exceptions import ValidationError
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer
from rest_framework.viewsets import GenericViewSet

from crosses.base.history import hold
from crosses.calc.checkdigit import read_number
from crosses.calc.errors import BadInput
from seedbank.api.conditional import Conditional, demand_version
from seedbank.api.flat import cells, headings, paths_of
from seedbank.api.renderers import TableRenderer, table
from seedbank.members.models import Member

NUMBER = OpenApiParameter(
    "number", OpenApiTypes.STR, OpenApiParameter.PATH, description="Its number, with check digits."
)

Record = TypeVar("Record", bound=Model)
ROWS_AT_ONCE = 200


class ReadRows(Conditional, GenericViewSet[Any]):
    """Lists what a member may see, and shows one record by its number.

    `queryset` names the model for the schema; what is read comes from `get_queryset`, which begins
    at the access functions. `detail_serializer_class` tells more of one record than its list does.
    """

    lookup_field = "number"
    number_kind = ""
    # Which of its answers come as a table too, and in what order its rows stand there.
    tables: frozenset[str] = frozenset({"list"})
    table_order = "pk"
    detail_serializer_class: type[BaseSerializer[Any]] | None = None

    @property
    def reader(self) -> Member:
        return cast("Member", self.request.user)

    def rows(self, records: Sequence[Any]) -> list[Any]:
        """Make what is serialized of records; a fixed number of queries, however many records."""
        return list(records)

    def told_with(self, records: Sequence[Any]) -> dict[str, Any]:
        """Look up, for a whole page at once, what the serializer needs beside the rows."""
        return {}

    def told_of(self, record: Any) -> dict[str, Any]:
        """Reckon, for one record alone, what would take too long for each of a list."""
        return {}

    def get_renderers(self) -> list[BaseRenderer]:
        renderers: list[BaseRenderer] = [JSONRenderer()]
        return [*renderers, TableRenderer()] if self.action in self.tables else renderers

    def get_serializer_class(self) -> type[BaseSerializer[Any]]:
        if self.action != "list" and self.detail_serializer_class is not None:
            return self.detail_serializer_class
        return super().get_serializer_class()

    def list(self, request: Request) -> Any:
        if isinstance(request.accepted_renderer, TableRenderer):
            return self.as_table()
        records = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        return self.get_paginated_response(self._written(list(records or ())))

    def as_table(self) -> Any:
        """Stream all that is asked for, some rows at a time, so that it needs little memory."""
        paths = paths_of(self.get_serializer_class()(context=self.get_serializer_context()))
        records = self.filter_queryset(self.get_queryset()).order_by(self.table_order)
        told = (row for batch in in_batches(records) for row in self._written(batch))
        rows = (tuple(cells(row, paths)) for row in told)
        return table(rows, headings(paths), f"{self.basename.removeprefix('api-')}.csv")

    def retrieve(self, request: Request, number: str) -> Response:
        return Response(self.told_in_full(number_asked(number, kind=self.number_kind)))

    def told_in_full(self, number: str) -> Any:
        """Return what is told of one record: the answer to reading it, and to writing it."""
        record: Any = get_object_or_404(self.get_queryset(), **{self.lookup_field: number})
        self.row_version = getattr(record, "version", None)
        return self._written([record], self.told_of(record))[0]

    def held(self, find: Callable[[], Record]) -> Record:
        """Return a record to change, locked, if the sender has read it as it is now."""
        hold(find())
        record = find()
        told = self.told_in_full(getattr(record, self.lookup_field))
        demand_version(self.request, told, self.row_version)
        return record

    def _written(self, records: Sequence[Any], told_of: dict[str, Any] | None = None) -> Any:
        context = {**self.get_serializer_context(), **self.told_with(records), **(told_of or {})}
        return self.get_serializer_class()(self.rows(records), many=True, context=context).data


def in_batches(records: QuerySet[Any]) -> Iterator[Sequence[Any]]:
    """Give records a few hundred at a time, with what they were to be loaded with."""
    found = records.iterator(chunk_size=ROWS_AT_ONCE)
    while batch := list(islice(found, ROWS_AT_ONCE)):
        yield batch


def read_sent(serializer: BaseSerializer[Any]) -> dict[str, Any]:
    """Return what was sent, if it has the shape that was asked for."""
    serializer.is_valid(raise_exception=True)
    sent: dict[str, Any] = serializer.validated_data
    return sent


def number_asked(number: str, *, kind: str, field: str = "number") -> str:
    """Read the number in an address; a mistyped digit is told, and is not "not found"."""
    try:
        return read_number(number, kind=kind)
    except BadInput as wrong:
        raise ValidationError({field: [wrong.message]}) from wrong


def no_rows(model: type[Any]) -> QuerySet[Any]:
    return QuerySet(model).none()
