"""Counting what may be done so many times in a while, right with any number of processes."""

import datetime
from dataclasses import dataclass

from django.db import transaction
from django.db.models import Case, F, Value, When

from seedbank.members.models import Tally

# Tallies that are over are swept out when a new one begins.
_KEPT = datetime.timedelta(days=1)


@dataclass(frozen=True)
class Counted:
    times: int
    ends_at: datetime.datetime


@transaction.atomic
def count_one(key: str, *, at: datetime.datetime, window: datetime.timedelta) -> Counted:
    """Count one more, and say how many it makes; a window runs from the first of them.

    The update decides and writes in one statement and holds the row until the end, so that of two
    at one moment each counts.
    """
    row = Tally.objects.filter(key=key)
    is_running = When(ends_at__gt=at, then=F("times") + 1)
    still = When(ends_at__gt=at, then=F("ends_at"))
    begun = {
        "times": Case(is_running, default=Value(1)),
        "ends_at": Case(still, default=Value(at + window)),
    }
    if not row.update(**begun):
        Tally.objects.filter(ends_at__lt=at - _KEPT).delete()
        empty = {"times": 0, "ends_at": at + window}
        Tally.objects.get_or_create(key=key, defaults=empty)
        row.update(**begun)
    times, ends_at = row.values_list("times", "ends_at").get()
    return Counted(times, ends_at)


def counted(key: str, *, at: datetime.datetime) -> int:
    """Say how often it was done in the window that runs, without counting."""
    found = Tally.objects.filter(key=key, ends_at__gt=at).values_list("times", flat=True)
    return found.first() or 0


def forget(key: str) -> None:
    Tally.objects.filter(key=key).delete()
