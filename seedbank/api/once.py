"""A write sent twice is done once, by the Idempotency-Key that its sender made for it.

The header is that of the IETF's draft "The Idempotency-Key HTTP Header Field".
"""

import hashlib
import json
from collections.abc import Callable
from functools import wraps
from typing import Any, cast

from django.db import transaction
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.base.clock import now
from seedbank.api.errors import KeyMissing, KeyUsed
from seedbank.members.actions.answer import claim_key, keep_answer
from seedbank.members.models import Member

LONGEST = 255

Handler = Callable[..., Response]


def written_once(handler: Handler) -> Handler:
    """Do a write and keep its answer in one transaction, or give the answer kept before.

    A write that is refused keeps no answer: nothing was done, and it may be put right and sent
    again under the same key.
    """

    @wraps(handler)
    @transaction.atomic
    def once(view: Any, request: Request, *args: Any, **kwargs: Any) -> Response:
        member, digest = cast("Member", request.user), _digest(request)
        kept = claim_key(member=member, key=_key(request), digest=digest, at=now())
        if kept.digest != digest:
            raise KeyUsed
        if kept.status is not None:
            before = Response(kept.body, status=kept.status)
            # The record may have moved on since; whoever wants to change it reads it first.
            before.was_given_before = True  # type: ignore[attr-defined]
            return before
        response = handler(view, request, *args, **kwargs)
        body = json.loads(JSONRenderer().render(response.data) or b"null")
        keep_answer(kept=kept, status=response.status_code, body=body)
        return response

    return once


def _key(request: Request) -> str:
    # The draft writes a string in quotation marks; without them it is understood too.
    key = request.headers.get("Idempotency-Key", "").strip().strip('"')
    if not key or len(key) > LONGEST:
        raise KeyMissing
    return key


def _digest(request: Request) -> str:
    sent = f"{request.method} {request.get_full_path()}\n".encode() + request.body
    return hashlib.sha256(sent).hexdigest()
