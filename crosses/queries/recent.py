"""What a grower did last, so that the next flower takes few taps."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain
from typing import Any

from django.db.models import QuerySet

from crosses.access import crosses_visible_to, plants_visible_to, pollinations_visible_to
from crosses.facts.pollination import POLLINATION
from crosses.models import Cross, Plant, Pollination
from crosses.models.pollination import PollenState
from crosses.queries.written import cross_formula

# Of the last pollinations so many are looked through for pairs and plants.
LOOKED_THROUGH = 60
PAIRS_OFFERED = 4
PLANTS_OFFERED = 6
# A second load of pollen goes on within a few days (common practice, no source).
DAYS_TO_TOUCH_UP = 4


@dataclass(frozen=True)
class RecentPair:
    """A cross of this season and its last flowers; `may_touch_up` while they are fresh."""

    cross: Cross
    formula: str
    last: Pollination | None
    may_touch_up: bool


@dataclass(frozen=True)
class LastUse:
    """How flowers were pollinated last time, as the form takes it and in words."""

    facts: dict[str, Any]
    words: str


def recent_pairs(grower: Any, today: datetime.date, *, first: str = "") -> list[RecentPair]:
    """Return the pairs pollinated last in this season; a cross asked for by its number stands first."""
    last: dict[int, Pollination] = {}
    for one in _last_pollinations(grower, today):
        last.setdefault(one.cross_id, one)
    latest_first = [one.cross for one in last.values()]
    if first:
        wanted = list(_with_parents(crosses_visible_to(grower).filter(grower=grower, number=first)))
        latest_first = wanted + [cross for cross in latest_first if cross not in wanted]
    return [_pair(cross, last.get(cross.pk), today) for cross in latest_first[:PAIRS_OFFERED]]


def _pair(cross: Cross, last: Pollination | None, today: datetime.date) -> RecentPair:
    may_touch_up = last is not None and (today - last.pollinated_on).days <= DAYS_TO_TOUCH_UP
    return RecentPair(cross, cross_formula(cross), last, may_touch_up)


def _last_pollinations(grower: Any, today: datetime.date) -> list[Pollination]:
    """Latest first. A pair of another year would be another cross, and is not offered."""
    pollinations = pollinations_visible_to(grower).filter(
        cross__grower=grower,
        cross__season=today.year,
        cross__withdrawn_at=None,
        withdrawn_at=None,
    )
    found = pollinations.select_related(
        "cross__seed_parent", "cross__pollen_parent"
    ).prefetch_related("cross__pollen_shares__plant")
    return list(found.order_by("-logged_at", "pk")[:LOOKED_THROUGH])


def _with_parents(crosses: QuerySet[Cross]) -> QuerySet[Cross]:
    return crosses.select_related("seed_parent", "pollen_parent").prefetch_related(
        "pollen_shares__plant"
    )


def recent_plants(grower: Any, today: datetime.date) -> list[Plant]:
    """Return the living plants used last in any role, then the newest of one's own."""
    used = chain.from_iterable(
        (one.cross.seed_parent, one.cross.pollen_parent)
        for one in _last_pollinations(grower, today)
    )
    own = plants_visible_to(grower).filter(keeper=grower, died_on=None, withdrawn_at=None)
    return _first_few(chain(used, own.order_by("-pk")[:PLANTS_OFFERED]))


def _first_few(plants: Iterable[Plant | None]) -> list[Plant]:
    found: dict[int, Plant] = {}
    for plant in plants:
        if plant is None or plant.died_on or plant.is_withdrawn:
            continue
        found.setdefault(plant.pk, plant)
        if len(found) == PLANTS_OFFERED:
            break
    return list(found.values())


def facts_to_log_again(pollination: Pollination) -> dict[str, Any]:
    """Return what was typed of a pollination, as the form takes it."""
    cross = pollination.cross
    plants = {"seed_parent": cross.seed_parent, "pollen_parent": cross.pollen_parent}
    typed = {name: f"{plant.number} {plant.name_text}" for name, plant in plants.items() if plant}
    facts = {
        fact.name: getattr(pollination, fact.name) for fact in POLLINATION.written(making=True)
    }
    return typed | facts | {"pollen": cross.pollen}


def last_use(grower: Any, today: datetime.date) -> LastUse | None:
    """Return how the grower pollinated last; stored pollen is as many days older by now."""
    last = pollinations_visible_to(grower).filter(logged_by=grower, withdrawn_at=None)
    one = last.order_by("-logged_at", "-pk").first()
    if one is None:
        return None
    facts: dict[str, Any] = {
        "tool": one.tool,
        "pollen_state": one.pollen_state,
        "is_bagged": one.is_bagged,
        "is_emasculated": one.is_emasculated,
    }
    if one.pollen_state == PollenState.STORED:
        facts["pollen_stored_how"] = one.pollen_stored_how
        if one.pollen_stored_days is not None:
            older = max((today - one.pollinated_on).days, 0)
            facts["pollen_stored_days"] = one.pollen_stored_days + older
    words = [one.get_tool_display(), f"{one.get_pollen_state_display()} pollen"]
    words += ["bagged"] * one.is_bagged + ["emasculated"] * one.is_emasculated
    return LastUse(facts, ", ".join(words))
