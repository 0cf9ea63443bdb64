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
    """Gives each answer its version, and answers 304 to who has that version already."""

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        done: HttpResponseBase = super().finalize_response(request, response, *args, **kwargs)
        patch_vary_headers(done, ["Accept", "Authorization", "Cookie"])
        patch_cache_control(done, private=True, no_cache=True)
        if isinstance(done, Response) and request.method in _TELL_VERSION:
            done.add_post_render_callback(lambda rendered: _with_version(request, rendered))
        return done


def version_of(data: Any) -> str:
    """Return the version of a record as this reader is told it."""
    return _tag(JSONRenderer().render(data))


def demand_version(request: Request, told: Any) -> None:
    """Refuse a change by somebody who has not read the record as it is now; call it locked."""
    sent = request.headers.get("If-Match")
    if not sent:
        raise VersionUnsaid
    wanted = parse_etags(sent)
    if wanted != ["*"] and version_of(told) not in wanted:
        raise VersionOld


def _tag(content: bytes) -> str:
    return f'"{hashlib.sha256(content).hexdigest()[:32]}"'


def _with_version(request: Request, response: Any) -> Any:
    if response.status_code != 200:
        return None
    response.setdefault("ETag", _tag(response.content))
    if request.method not in {"GET", "HEAD"}:
        return None
    answer = get_conditional_response(request, etag=response["ETag"], response=response)
    if answer is response or answer is None:
        return None
    for name in ("RateLimit", "RateLimit-Policy"):
        if name in response.headers:
            answer[name] = response[name]
    return answer
