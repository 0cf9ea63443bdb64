"""The one place that asks what time it is; everything else is told."""

import datetime

from django.utils import timezone


def now() -> datetime.datetime:
    return timezone.now()  # noqa: TID251  this is the place


def today() -> datetime.date:
    """Return today's date in the society's time zone."""
    return timezone.localdate()


def moment_in_words(moment: datetime.datetime) -> str:
    """Write a moment as the society's clock shows it: 7 May 2026 at 20:00 (BST)."""
    local = timezone.localtime(moment)
    return f"{local.day} {local:%B %Y at %H:%M} ({local.tzname()})"
