"""How many requests a member may send, told with every answer.

The headers are those of the IETF's draft "RateLimit header fields for HTTP". The count is in the cache,
each process its own where the cache is in memory: reading must never wait for whoever is writing to the
database, and a limit that is a few times too generous harms nobody.
"""

import datetime
import math
from typing import Any

from django.core.cache import cache
from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle

from crosses.base.clock import now

WINDOW = datetime.timedelta(hours=1)
MOST_REQUESTS = 3000


class RequestsOfMember(BaseThrottle):
    def __init__(self) -> None:
        self.seconds_left = 0

    def allow_request(self, request: Request, view: Any) -> bool:
        times, ends_at = _count_one(str(request.user.pk))
        self.seconds_left = math.ceil((ends_at - now()).total_seconds())
        left = max(0, MOST_REQUESTS - times)
        whole = int(WINDOW.total_seconds())
        view.headers["RateLimit-Policy"] = f'"member";q={MOST_REQUESTS};w={whole}'
        view.headers["RateLimit"] = f'"member";r={left};t={self.seconds_left}'
        return times <= MOST_REQUESTS

    def wait(self) -> float:
        return self.seconds_left


def _count_one(member: str) -> tuple[int, datetime.datetime]:
    """Count one more, and say how many it makes; a window runs from the first of them."""
    at = now()
    ends_at: datetime.datetime | None = cache.get(f"api-window-{member}")
    if ends_at is None or ends_at <= at:
        ends_at = at + WINDOW
        cache.set(f"api-window-{member}", ends_at, WINDOW.total_seconds())
    key = f"api-times-{member}-{ends_at.timestamp()}"
    cache.add(key, 0, WINDOW.total_seconds())
    return cache.incr(key), ends_at
