"""Flowers in lists: which to look at first, and what is known of each."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator

from crosses.access import pollinations_visible_to
from crosses.calc.capsule import CapsuleState
from crosses.models import Check, Cross, Pollination
from crosses.queries.capsules import state_of_loaded
from crosses.queries.forecast import (
    OPEN_STATES,
    Outlook,
    SocietyForecast,
    society_forecast,
    with_forecast_facts,
)
from crosses.queries.taps import Tap, taps_of
from crosses.queries.written import cross_formula

FLOWERS_A_PAGE = 50


@dataclass(frozen=True)
class FlowerRow:
    """A pollination in a list."""

    pollination: Pollination
    formula: str
    state: CapsuleState
    last_check: Check | None
    outlook: Outlook
    is_own: bool
    is_open: bool

    @property
    def taps(self) -> list[Tap]:
        """The buttons of its card."""
        return taps_of(self.state)

    @property
    def why_closed(self) -> str:
        """Why flowers that nobody saw set are not waited for; one look opens them again."""
        return self.state.why_closed or (self.outlook.why_not if self.outlook.is_past else "")


def flowers_page(
    viewer: Any,
    today: datetime.date,
    *,
    page: str | None,
    state: str = "",
    season: int | None = None,
    own_only: bool = True,
    a_page: int = FLOWERS_A_PAGE,
) -> Page[FlowerRow]:
    """Return a page of flowers: those still open by urgency, any others by day, latest first."""
    pollinations = pollinations_visible_to(viewer).filter(
        withdrawn_at=None, cross__withdrawn_at=None
    )
    if own_only:
        pollinations = pollinations.filter(cross__grower=viewer)
    if season is not None:
        pollinations = pollinations.filter(cross__season=season)
    if not state:
        pollinations = pollinations.filter(state__in=OPEN_STATES)
    elif state != "all":
        pollinations = pollinations.filter(state=state)
    pollinations = with_forecast_facts(pollinations)
    if not state or state in OPEN_STATES:
        waiting = list(pollinations)
        ahead = society_forecast(viewer, waiting)
        waiting.sort(key=lambda one: _urgency(one, ahead, today))
        found: Page[Any] = Paginator(waiting, a_page).get_page(page)
    else:
        found = Paginator(pollinations, a_page).get_page(page)
        ahead = society_forecast(viewer, found.object_list)
    found.object_list = flower_rows(viewer, list(found.object_list), ahead, today)
    return found


def _urgency(
    pollination: Pollination, ahead: SocietyForecast, today: datetime.date
) -> tuple[bool, float, datetime.date, int]:
    """Ripe first, then by the chance of a split by tomorrow; with no forecast the oldest first.

    What is no longer waited for stands last.
    """
    is_ripe = pollination.state == Pollination.State.RIPE
    chance = ahead.chance_within(pollination, today, 1) or 0.0
    if not is_ripe and ahead.why_past(pollination, today):
        chance = -1.0
    return not is_ripe, -chance, pollination.pollinated_on, pollination.pk


def flower_rows_of_cross(viewer: Any, cross: Cross, today: datetime.date) -> list[FlowerRow]:
    """Return every standing pollination of a cross, in order of day."""
    pollinations = pollinations_visible_to(viewer).filter(cross=cross, withdrawn_at=None)
    found = list(with_forecast_facts(pollinations).order_by("pollinated_on", "id"))
    return flower_rows(viewer, found, society_forecast(viewer, found), today)


def flower_rows(
    viewer: Any, pollinations: Sequence[Pollination], ahead: SocietyForecast, today: datetime.date
) -> list[FlowerRow]:
    """Write what is known of flowers that were loaded with their facts."""
    return [
        FlowerRow(
            pollination=pollination,
            formula=cross_formula(pollination.cross),
            state=state_of_loaded(pollination),
            last_check=max(
                pollination.checks.all(), key=lambda check: (check.seen_on, check.pk), default=None
            ),
            outlook=ahead.outlook(pollination, today),
            is_own=pollination.cross.grower_id == viewer.pk,
            is_open=pollination.state in OPEN_STATES,
        )
        for pollination in pollinations
    ]


def way_back_of(pollination: Pollination) -> Pollination | None:
    """Return the pollination logged in the same gesture the other way round, if there is one."""
    other = pollination.cross.reciprocal_of_id
    back = Pollination.objects.filter(
        pollinated_on=pollination.pollinated_on, logged_at=pollination.logged_at, withdrawn_at=None
    ).select_related("cross")
    return (
        back.filter(cross__reciprocal_of=pollination.cross).first()
        or back.filter(cross=other).first()
    )
