"""How many requests a member may send, told with every answer.

The headers are those of the IETF's draft "RateLimit header fields for HTTP". The count is in the
database, so that it is one count however many processes answer.
"""

import datetime
import math
from typing import Any

from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle

from crosses.base.clock import now
from seedbank.members.actions.tally import count_one

WINDOW = datetime.timedelta(hours=1)
MOST_REQUESTS = 3000


class RequestsOfMember(BaseThrottle):
    def __init__(self) -> None:
        self.seconds_left = 0

    def allow_request(self, request: Request, view: Any) -> bool:
        at = now()
        counted = count_one(f"api-{request.user.pk}", at=at, window=WINDOW)
        self.seconds_left = math.ceil((counted.ends_at - at).total_seconds())
        left = max(0, MOST_REQUESTS - counted.times)
        whole = int(WINDOW.total_seconds())
        view.headers["RateLimit-Policy"] = f'"member";q={MOST_REQUESTS};w={whole}'
        view.headers["RateLimit"] = f'"member";r={left};t={self.seconds_left}'
        return counted.times <= MOST_REQUESTS

    def wait(self) -> float:
        return self.seconds_left
