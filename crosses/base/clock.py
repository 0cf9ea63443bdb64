"""The one place that asks what time it is; everything else is told."""

import datetime

from django.utils import timezone


def now() -> datetime.datetime:
    return timezone.now()  # noqa: TID251  this is the place


def today() -> datetime.date:
    """Return today's date in the society's time zone."""
    return timezone.localdate()
