"""What all reading views do: take a page of records, and make rows of it in a few queries."""

from collections.abc import Sequence
from typing import Any, cast

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer
from rest_framework.viewsets import GenericViewSet

from crosses.calc.checkdigit import read_number
from crosses.calc.errors import BadInput
from seedbank.api.conditional import Conditional
from seedbank.members.models import Member

NUMBER = OpenApiParameter(
    "number", OpenApiTypes.STR, OpenApiParameter.PATH, description="Its number, with check digits."
)


class ReadRows(Conditional, GenericViewSet[Any]):
    """Lists what a member may see, and shows one record by its number.

    `queryset` names the model for the schema; what is read comes from `get_queryset`, which begins
    at the access functions. `detail_serializer_class` tells more of one record than its list does.
    """

    lookup_field = "number"
    number_kind = ""
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

    def get_serializer_class(self) -> type[BaseSerializer[Any]]:
        if self.action == "retrieve" and self.detail_serializer_class is not None:
            return self.detail_serializer_class
        return super().get_serializer_class()

    def list(self, request: Request) -> Response:
        records = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        return self.get_paginated_response(self._written(list(records or ())))

    def retrieve(self, request: Request, number: str) -> Response:
        wanted = number_asked(number, kind=self.number_kind)
        record: Any = get_object_or_404(self.get_queryset(), number=wanted)
        return Response(self._written([record], self.told_of(record))[0])

    def _written(self, records: Sequence[Any], told_of: dict[str, Any] | None = None) -> Any:
        context = {**self.get_serializer_context(), **self.told_with(records), **(told_of or {})}
        return self.get_serializer_class()(self.rows(records), many=True, context=context).data


def number_asked(number: str, *, kind: str, field: str = "number") -> str:
    """Read the number in an address; a mistyped digit is told, and is not "not found"."""
    try:
        return read_number(number, kind=kind)
    except BadInput as wrong:
        raise ValidationError({field: [wrong.message]}) from wrong


def no_rows(model: type[Any]) -> QuerySet[Any]:
    return QuerySet(model).none()
