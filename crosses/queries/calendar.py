"""A grower's watch list as days of a calendar, for a phone or for whoever waters in the holidays."""

import datetime
from typing import Any

from django.conf import settings
from django.db.models import Count, Max

from crosses.access import pollinations_visible_to
from crosses.formats.icalendar import DayEvent, stable_uid
from crosses.models import Pollination
from crosses.queries.forecast import (
    OPEN_STATES,
    Outlook,
    society_forecast,
    with_forecast_facts,
)
from crosses.queries.written import cross_formula

# A flower that needs no more looks is cancelled for this long, so that it leaves every calendar.
DAYS_CANCELLED = 365


def watch_events(grower: Any, today: datetime.date) -> list[DayEvent]:
    """Return when to look at each of a grower's flowers, those no longer to be watched cancelled."""
    since = today - datetime.timedelta(days=DAYS_CANCELLED)
    flowers = pollinations_visible_to(grower).filter(cross__grower=grower, pollinated_on__gte=since)
    flowers = flowers.annotate(looks=Count("checks"), looked_at=Max("checks__logged_at"))
    found = list(with_forecast_facts(flowers))
    ahead = society_forecast(grower, found)
    return [
        _event(pollination, ahead.outlook(pollination, today), today)
        for pollination in found
        if pollination.state not in OPEN_STATES
        or pollination.is_withdrawn
        or pollination.state == Pollination.State.RIPE
        or ahead.known(pollination) is not None
    ]


def _event(pollination: Any, outlook: Outlook, today: datetime.date) -> DayEvent:
    is_over = pollination.is_withdrawn or pollination.state not in OPEN_STATES or outlook.is_past
    first = max(outlook.look_daily_from or today, today)
    last = max(outlook.split_by_90_on or first, first)
    formula = cross_formula(pollination.cross)
    changed = [pollination.logged_at, pollination.looked_at, pollination.withdrawn_at]
    return DayEvent(
        uid=stable_uid(pollination.number),
        first_day=first,
        last_day=last,
        summary=f"Look daily at {pollination.cross.own_number} ({pollination.number})",
        changed_at=max(moment for moment in changed if moment is not None),
        # Only ever more looks are written, so the number only rises.
        sequence=pollination.looks + int(pollination.is_withdrawn),
        description=f"{formula}. {outlook.sentence or outlook.why_not} {outlook.basis}".strip(),
        url=f"{settings.SITE_ADDRESS}/s/{pollination.number}",
        is_cancelled=is_over,
    )
