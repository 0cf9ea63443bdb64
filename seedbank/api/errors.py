"""Every error of the API is a problem details document (RFC 9457)."""

import sys
from typing import Any

from django.conf import settings
from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseServerError, JsonResponse
from django.template.loader import render_to_string
from django.views.defaults import server_error
from rest_framework.exceptions import APIException, NotFound, ValidationError
from rest_framework.exceptions import PermissionDenied as ApiPermissionDenied
from rest_framework.response import Response
from rest_framework.views import set_rollback

from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from seedbank.api.away import Away, away_of

# What each status means here, in the words of the guide's page; `type` leads there.
PROBLEMS = {
    400: "Something in the request cannot be read.",
    401: "A key is needed.",
    403: "You may not do this.",
    404: "There is nothing here that you may see.",
    405: "This address does not take this method.",
    406: "The answer does not come in this form.",
    409: "A rule refuses it.",
    412: "The record has changed since you read it.",
    413: "Too much was sent at once.",
    415: "The body must be JSON.",
    422: "This Idempotency-Key was sent before with something else.",
    428: "Say which version of the record you read.",
    429: "Too many requests.",
    500: "Something is broken here.",
    503: "Not just now.",
}


class KeyMissing(APIException):
    status_code = 400
    default_code = "idempotency-key-missing"
    default_detail = (
        "Send an Idempotency-Key with every write: a text that you make for this one, a UUID for"
        " instance, 255 characters at most. Sent again with the same body it changes nothing."
    )


class KeyUsed(APIException):
    status_code = 422
    default_code = "idempotency-key-used"
    default_detail = "This Idempotency-Key was sent before with something else. Make a new one."


class VersionUnsaid(APIException):
    status_code = 428
    default_code = "if-match-missing"
    default_detail = (
        "Read the record first and send its ETag as If-Match, so that nobody's change is lost."
    )


class VersionOld(APIException):
    status_code = 412
    default_code = "changed-since"
    default_detail = "The record has changed since you read it. Read it again, then change it."


class TooLarge(APIException):
    status_code = 413
    default_code = "too-large"
    default_detail = "Send less at once: five megabytes at most."


def handle(error: Exception, context: dict[str, Any]) -> Response | None:
    """Turn what the code raises into a document; anything unknown stays a crash."""
    if isinstance(error, Refused):
        set_rollback()
        return _refused(409, error)
    if isinstance(error, BadInput):
        set_rollback()
        return _refused(400, error)
    known = _as_api_exception(error)
    if known is None:
        return None
    set_rollback()
    said, fields = _said(known)
    response = Response(
        problem(known.status_code, str(known.default_code), said, fields),
        status=known.status_code,
        content_type="application/problem+json",
    )
    if getattr(known, "auth_header", None):
        response["WWW-Authenticate"] = known.auth_header  # type: ignore[attr-defined]
    if getattr(known, "wait", None):
        response["Retry-After"] = str(int(known.wait))  # type: ignore[attr-defined]
    return response


def crashed(request: HttpRequest) -> HttpResponse:
    """Answer a script in its own form when something breaks; a page for everybody else."""
    # The handler of last resort is called while the error is being handled.
    away = away_of(sys.exception())
    if away is not None:
        return _not_now(request, away)
    if not request.path.startswith("/api/"):
        return HttpResponseServerError(server_error(request).content)
    said = "It is written down for the administrator. Nothing was changed."
    return JsonResponse(
        problem(500, "crashed", said, {}), status=500, content_type="application/problem+json"
    )


def _not_now(request: HttpRequest, away: Away) -> HttpResponse:
    answer: HttpResponse
    if request.path.startswith(("/api/", "/brapi/")):
        said = f"{away.words} Nothing of what you sent was saved: send it again."
        answer = JsonResponse(
            problem(503, "database-away", said, {}),
            status=503,
            content_type="application/problem+json",
        )
    else:
        # Without the request: what stands on every other page is read from the database.
        words = {"words": away.words, "seconds": away.seconds}
        answer = HttpResponse(render_to_string("503.html", words), status=503)
    answer["Retry-After"] = str(away.seconds)
    return answer


def problem(status: int, code: str, detail: str, errors: Any) -> dict[str, Any]:
    return {
        "type": f"{settings.SITE_ADDRESS}/api/v1/#problem-{status}",
        "title": PROBLEMS[status],
        "status": status,
        "detail": detail,
        "code": code,
        "errors": errors,
    }


def _as_api_exception(error: Exception) -> APIException | None:
    if isinstance(error, APIException):
        return error
    if isinstance(error, Http404):
        return NotFound("There is nothing of this number that you may see.")
    if isinstance(error, PermissionDenied):
        return ApiPermissionDenied(str(error) or None)
    if isinstance(error, RequestDataTooBig):
        return TooLarge()
    return None


def _said(error: APIException) -> tuple[str, Any]:
    if not isinstance(error, ValidationError):
        return str(error.detail), {}
    fields = error.detail if isinstance(error.detail, dict) else {"": error.detail}
    return "See `errors` for what is wrong, by field.", fields


def _refused(status: int, error: Refused | BadInput) -> Response:
    fields = {error.field: [error.message]} if error.field else {}
    code = error.code if isinstance(error, Refused) else "bad-input"
    return Response(
        problem(status, code, error.message, fields),
        status=status,
        content_type="application/problem+json",
    )
