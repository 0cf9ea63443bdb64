"""Every error of the API is a problem details document (RFC 9457)."""

from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404
from rest_framework.exceptions import APIException, NotFound, ValidationError
from rest_framework.exceptions import PermissionDenied as ApiPermissionDenied
from rest_framework.response import Response
from rest_framework.views import set_rollback

from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput


def handle(error: Exception, context: dict[str, Any]) -> Response | None:
    """Turn what the code raises into a document; anything unknown stays a crash."""
    if isinstance(error, Http404):
        error = NotFound()
    if isinstance(error, PermissionDenied):
        error = ApiPermissionDenied()
    if isinstance(error, Refused):
        return _problem(
            409, error.code, error.message, {error.field: [error.message]} if error.field else {}
        )
    if isinstance(error, BadInput):
        return _problem(
            400, "bad-input", error.message, {error.field: [error.message]} if error.field else {}
        )
    if not isinstance(error, APIException):
        return None
    set_rollback()
    fields = (
        error.detail
        if isinstance(error, ValidationError) and isinstance(error.detail, dict)
        else {}
    )
    title = "Some values are wrong." if isinstance(error, ValidationError) else str(error.detail)
    response = _problem(error.status_code, str(error.default_code), title, fields)
    if getattr(error, "auth_header", None):
        response["WWW-Authenticate"] = error.auth_header  # type: ignore[attr-defined]
    if getattr(error, "wait", None):
        response["Retry-After"] = str(int(error.wait))  # type: ignore[attr-defined]
    return response


def _problem(status: int, code: str, title: str, fields: Any) -> Response:
    body: dict[str, Any] = {"type": f"about:blank#{code}", "title": title, "status": status}
    if fields:
        body["errors"] = fields
    return Response(body, status=status, content_type="application/problem+json")
