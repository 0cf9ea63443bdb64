"""What every BrAPI answer has in common: the envelope, pages by number, errors in plain text."""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, cast

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from rest_framework.exceptions import APIException, NotFound, ParseError
from rest_framework.exceptions import PermissionDenied as ApiPermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView, set_rollback

from crosses.base.clock import now
from seedbank.api.filters import not_known
from seedbank.members.models import Member

DEFAULT_PAGE_SIZE = 1000
MAX_PAGE_SIZE = 2000

# What the standard lets one ask for and a society does not have: asked for, nothing has it.
NOT_KEPT = frozenset(
    {
        "collection",
        "externalReferenceID",
        "externalReferenceId",
        "externalReferenceSource",
        "familyCode",
        "programDbId",
        "studyDbId",
        "synonym",
        "trialDbId",
    }
)
PAGING = frozenset({"page", "pageSize"})

Narrow = Callable[[QuerySet[Any], str], QuerySet[Any]]


class BrapiView(APIView):
    """One call of the standard; `parameters` are those it names for this call."""

    # The API's own schema tells of its own calls; these are described by the standard.
    schema = None
    parameters: frozenset[str] = frozenset()

    @property
    def reader(self) -> Member:
        return cast("Member", self.request.user)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Refuse a parameter the standard does not name: passed over, it would seem to be obeyed."""
        super().initial(request, *args, **kwargs)
        for name in request.query_params:
            if name not in self.parameters:
                raise ParseError(f"{name}: {not_known(name, set(self.parameters))}")

    def get_exception_handler(self) -> Callable[[Exception, Mapping[str, Any]], Any]:
        return in_plain_text

    def narrowed(self, records: QuerySet[Any], filters: Mapping[str, Narrow]) -> QuerySet[Any]:
        """Narrow by every filter that was sent; all of them hold at once."""
        for name, value in self.request.query_params.dict().items():
            if name in NOT_KEPT:
                return records.none()
            if name in filters:
                records = filters[name](records, value)
        return records

    def listed(
        self, records: QuerySet[Any] | Sequence[Any], told: Callable[[Sequence[Any]], list[Any]]
    ) -> Response:
        """Answer with a page of records, told all at once so that it takes a few queries."""
        page = self.whole_number("page", default=0)
        size = min(self.whole_number("pageSize", default=DEFAULT_PAGE_SIZE), MAX_PAGE_SIZE)
        if size == 0:
            raise ParseError("pageSize: one or more.")
        total = records.count() if isinstance(records, QuerySet) else len(records)
        data = told(list(records[page * size : (page + 1) * size]))
        pagination = {
            "currentPage": page,
            "pageSize": len(data) if page * size + len(data) >= total else size,
            "totalCount": total,
            "totalPages": math.ceil(total / size),
        }
        return Response(
            {
                "metadata": {"pagination": pagination, "status": self._status(), "datafiles": []},
                "result": {"data": data},
            }
        )

    def whole_number(self, name: str, *, default: int) -> int:
        text = self.request.query_params.get(name, str(default))
        if not (text.isascii() and text.isdigit() and len(text) < 10):
            raise ParseError(f"{name}: '{text}' is not a whole number of nought or more.")
        return int(text)

    def yes_no(self, name: str, *, default: bool) -> bool:
        text = self.request.query_params.get(name, str(default)).casefold()
        if text not in ("true", "false"):
            raise ParseError(f"{name}: true or false.")
        return text == "true"

    def _status(self) -> list[dict[str, str]]:
        asked = sorted(NOT_KEPT & set(self.request.query_params))
        return [
            {"message": f"{name} is not kept here: nothing has it.", "messageType": "WARNING"}
            for name in asked
        ]


def single(result: Mapping[str, Any]) -> Response:
    """Answer with one record."""
    return Response({"metadata": {"status": [], "datafiles": []}, "result": result})


def without_unknown(facts: Mapping[str, Any]) -> dict[str, Any]:
    """Leave out what is not known, or empty: the published schemas know no null."""
    return {name: value for name, value in facts.items() if value not in (None, "", [], {})}


def in_plain_text(error: Exception, context: Mapping[str, Any]) -> HttpResponse | None:
    """Write an error as the standard wants it: a line of text, without the envelope."""
    if isinstance(error, Http404):
        error = NotFound("The requested object DbId is not found.")
    if isinstance(error, PermissionDenied):
        error = ApiPermissionDenied()
    if not isinstance(error, APIException):
        return None
    set_rollback()
    line = f"ERROR - {now():%Y-%m-%dT%H:%M:%SZ} - {error.detail}"
    response = HttpResponse(line, status=error.status_code, content_type="text/plain")
    if getattr(error, "auth_header", None):
        response["WWW-Authenticate"] = error.auth_header  # type: ignore[attr-defined]
    if getattr(error, "wait", None):
        response["Retry-After"] = str(math.ceil(error.wait))  # type: ignore[attr-defined]
    return response
