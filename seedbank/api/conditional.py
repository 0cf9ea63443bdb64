"""Versions of an answer (ETag): nothing is sent again that the reader has, nothing overwritten unseen.

RFC 9110, section 13; RFC 6585, section 3.
"""

import hashlib
from typing import Any

from django.http import HttpResponseBase
from django.utils.cache import get_conditional_response, patch_cache_control, patch_vary_headers
from django.utils.http import parse_etags
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from seedbank.api.errors import VersionOld, VersionUnsaid

_TELL_VERSION = {"GET", "HEAD", "PUT", "PATCH"}


class Conditional(APIView):
    """Gives each answer its version, and answers 304 to who has that version already.

    The version of one record is of what is told of it and of its row: what may be written but is not
    told, to this reader or at all, cannot be written over unseen either.
    """

    # Of the one record that is told; set by the view that tells it.
    row_version: int | None = None

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        done: HttpResponseBase = super().finalize_response(request, response, *args, **kwargs)
        patch_vary_headers(done, ["Accept", "Authorization", "Cookie"])
        patch_cache_control(done, private=True, no_cache=True)
        if isinstance(done, Response) and request.method in _TELL_VERSION:
            row = self.row_version
            done.add_post_render_callback(lambda rendered: _with_version(request, rendered, row))
        return done


def version_of(data: Any, row: int | None = None) -> str:
    """Return the version of a record as this reader is told it, and of its row."""
    return _tag(JSONRenderer().render(data), row)


def demand_version(request: Request, told: Any, row: int | None = None) -> None:
    """Refuse a change by somebody who has not read the record as it is now; call it locked."""
    sent = request.headers.get("If-Match")
    if not sent:
        raise VersionUnsaid
    wanted = parse_etags(sent)
    if wanted != ["*"] and version_of(told, row) not in wanted:
        raise VersionOld


def _tag(content: bytes, row: int | None) -> str:
    seen = content if row is None else content + f" row {row}".encode()
    return f'"{hashlib.sha256(seen).hexdigest()[:32]}"'


def _with_version(request: Request, response: Any, row: int | None) -> Any:
    if response.status_code != 200 or getattr(response, "was_given_before", False):
        return None
    response.setdefault("ETag", _tag(response.content, row))
    if request.method not in {"GET", "HEAD"}:
        return None
    answer = get_conditional_response(request, etag=response["ETag"], response=response)
    if answer is response or answer is None:
        return None
    for name in ("RateLimit", "RateLimit-Policy"):
        if name in response.headers:
            answer[name] = response[name]
    return answer
