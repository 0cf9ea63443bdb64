"""Write a pollination down, touch it up, correct it, withdraw it."""

import datetime
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.db import transaction

from crosses.actions.capsule import reckon_state
from crosses.actions.cross import plan_cross
from crosses.actions.plant import add_plant
from crosses.actions.rules import (
    refuse_before_pollination,
    refuse_broken_rules,
    refuse_future,
    refuse_withdrawn,
    written_day,
)
from crosses.base.history import save_with_history
from crosses.base.idempotency import once
from crosses.base.numbers import next_number
from crosses.base.refusal import Refused
from crosses.base.withdrawal import withdraw
from crosses.facts.pollination import POLLINATION
from crosses.models import Cross, Plant, Pollination, TouchUp
from crosses.models.pollination import PollenState
from crosses.queries.seasons import cross_of_pair


@dataclass(frozen=True)
class Pair:
    """Which plant gets whose pollen, in which season; what a grower has in mind before a cross."""

    seed_parent: Plant
    pollen: str
    pollen_parent: Plant | None
    season: int
    own_number: str = ""


def _refuse_impossible(pollination: Pollination, at: datetime.datetime) -> None:
    cross, day = pollination.cross, pollination.pollinated_on
    refuse_future(day, at=at, field="pollinated_on")
    if not cross.seed_parent.was_alive_on(day):
        raise Refused(
            "seed-parent-dead", f"{cross.seed_parent} was dead by then.", field="pollinated_on"
        )
    is_fresh = pollination.pollen_state == PollenState.FRESH
    if is_fresh and cross.pollen_parent and not cross.pollen_parent.was_alive_on(day):
        raise Refused(
            "pollen-parent-dead",
            f"{cross.pollen_parent} was dead by then; only stored pollen can be from it.",
            field="pollen_state",
        )
    if is_fresh and (pollination.pollen_stored_how or pollination.pollen_stored_days is not None):
        raise Refused(
            "pollen-is-fresh",
            "How and how long pollen was stored belongs to stored pollen.",
            field="pollen_state",
        )


def _write(pollination: Pollination, *, by: Any, at: datetime.datetime) -> Pollination:
    refuse_withdrawn(pollination.cross, "cross")
    _refuse_impossible(pollination, at)
    refuse_broken_rules(pollination)
    save_with_history(pollination, by=by)
    return pollination


def _with_plants_written(pair: Pair, *, by: Any, at: datetime.datetime) -> Pair:
    """Write down the parents that are new, so that nothing of the entry waits for them."""
    seed, pollen = pair.seed_parent, pair.pollen_parent
    if not seed.pk:
        seed = add_plant(keeper=by, by=by, at=at, name_text=seed.name_text)
    if pollen is not None and not pollen.pk:
        # The same new name on both sides is one plant, and refused as such.
        is_same = pollen.name_text.casefold() == seed.name_text.casefold()
        pollen = seed if is_same else add_plant(keeper=by, by=by, at=at, name_text=pollen.name_text)
    return replace(pair, seed_parent=seed, pollen_parent=pollen)


def _cross_of(pair: Pair, *, by: Any, at: datetime.datetime) -> Cross:
    """Return the grower's cross of this pair and season, planned now if there is none."""
    pair = _with_plants_written(pair, by=by, at=at)
    known = cross_of_pair(
        by, pair.season, pair.seed_parent, pair.pollen, pair.pollen_parent, pair.own_number
    )
    return known or plan_cross(
        grower=by,
        by=by,
        at=at,
        own_number=pair.own_number,
        season=pair.season,
        seed_parent=pair.seed_parent,
        pollen=pair.pollen,
        pollen_parent=pair.pollen_parent,
    )


@transaction.atomic
def log_pollination(
    *,
    cross: Cross | Pair,
    by: Any,
    at: datetime.datetime,
    pollinated_on: datetime.date,
    flowers: int = 1,
    client_key: uuid.UUID | None = None,
    **facts: Any,
) -> Pollination:
    """Write down that flowers were pollinated; `facts` are the other fields of Pollination.

    A pair joins the grower's cross of the season or plans one. That is inside the guard against
    double sends, so that two sends at one moment make neither two pollinations nor two crosses.
    """
    refuse_future(pollinated_on, at=at, field="pollinated_on")

    def make() -> Pollination:
        # The number first: who sends the same pair a moment later waits here, and then finds the
        # cross that the first one planned.
        number = next_number("pollination")
        pollination = Pollination(
            number=number,
            cross=_cross_of(cross, by=by, at=at) if isinstance(cross, Pair) else cross,
            pollinated_on=pollinated_on,
            flowers=flowers,
            client_key=client_key,
            logged_by=by,
            logged_at=at,
        )
        POLLINATION.set_on(pollination, facts)
        if not pollination.pollen_seen:
            pollination.state = Pollination.State.NO_POLLEN
        return _write(pollination, by=by, at=at)

    return once(Pollination, client_key, make)[0]


def _reciprocal_cross(cross: Cross, own_number: str, *, by: Any, at: datetime.datetime) -> Cross:
    """Return the cross the other way round; an own number on its tag already is the one it has."""
    if cross.pollen_parent is None:
        raise Refused(
            "no-other-way", "Both ways needs one plant on either side.", field="both_ways"
        )
    linked = Cross.objects.filter(reciprocal_of=cross).first() or cross.reciprocal_of
    if linked is not None and own_number in {"", linked.own_number}:
        return linked
    swapped = (cross.pollen_parent, Cross.Pollen.PLANT, cross.seed_parent)
    known = cross_of_pair(by, cross.season, *swapped, own_number) if own_number else None
    return known or plan_cross(
        grower=cross.grower,
        by=by,
        at=at,
        own_number=own_number,
        season=cross.season,
        seed_parent=cross.pollen_parent,
        pollen_parent=cross.seed_parent,
        visibility=cross.visibility,
        reciprocal_of=None if linked else cross,
    )


@transaction.atomic
def log_both_ways(
    *,
    cross: Cross | Pair,
    by: Any,
    at: datetime.datetime,
    pollinated_on: datetime.date,
    flowers: int = 1,
    flowers_back: int = 1,
    own_number_back: str = "",
    client_key: uuid.UUID | None = None,
    **facts: Any,
) -> tuple[Pollination, Pollination]:
    """Write down one sitting in which each plant gave pollen to the other.

    The way back has a cross of its own, linked as the reciprocal, planned if there is none yet.
    """
    if facts.get("pollen_state", PollenState.FRESH) != PollenState.FRESH:
        raise Refused(
            "stored-goes-one-way",
            "Stored pollen goes one way; log the other way by itself.",
            field="both_ways",
        )
    there = log_pollination(
        cross=cross,
        by=by,
        at=at,
        pollinated_on=pollinated_on,
        flowers=flowers,
        client_key=client_key,
        **facts,
    )
    back = log_pollination(
        cross=_reciprocal_cross(there.cross, own_number_back, by=by, at=at),
        by=by,
        at=at,
        pollinated_on=pollinated_on,
        flowers=flowers_back,
        client_key=key_of_the_way_back(client_key),
        **facts,
    )
    return there, back


def log_gesture(*, flowers_back: int | None, own_number_back: str, **facts: Any) -> Pollination:
    """Write down what one form says: one way, or both if flowers of the other plant are told."""
    if flowers_back is None:
        return log_pollination(**facts)
    return log_both_ways(flowers_back=flowers_back, own_number_back=own_number_back, **facts)[0]


def key_of_the_way_back(client_key: uuid.UUID | None) -> uuid.UUID | None:
    """One gesture carries one key; the second record's key follows from it."""
    return None if client_key is None else uuid.uuid5(client_key, "back")


@transaction.atomic
def change_pollination(
    *, pollination: Pollination, by: Any, at: datetime.datetime, why: str, **facts: Any
) -> Pollination:
    """Correct what was written of a pollination; its checks are added up anew."""
    refuse_withdrawn(pollination, "pollination")
    POLLINATION.set_on(pollination, facts)
    _refuse_impossible(pollination, at)
    first_check = pollination.checks.filter(
        withdrawn_at=None, seen_on__lt=pollination.pollinated_on
    ).first()
    if first_check is not None:
        raise Refused(
            "seen-before",
            f"It was looked at on {written_day(first_check.seen_on)}, before this day.",
            field="pollinated_on",
        )
    first_harvest = pollination.harvests.filter(
        harvest__withdrawn_at=None, harvest__harvested_on__lt=pollination.pollinated_on
    ).exists()
    if first_harvest:
        raise Refused(
            "harvested-before", "It was harvested before this day.", field="pollinated_on"
        )
    refuse_broken_rules(pollination)
    save_with_history(pollination, by=by, why=why)
    return reckon_state(pollination, by)


@transaction.atomic
def add_touch_up(
    *,
    pollination: Pollination,
    by: Any,
    at: datetime.datetime,
    done_on: datetime.date,
    pollen_state: str = PollenState.FRESH,
    note: str = "",
    client_key: uuid.UUID | None = None,
) -> TouchUp:
    """Write down a second load of pollen on the same flower."""
    refuse_withdrawn(pollination, "pollination")
    refuse_future(done_on, at=at, field="done_on")
    refuse_before_pollination(done_on, pollination, "The flower", field="done_on")

    def make() -> TouchUp:
        touch_up = TouchUp(
            pollination=pollination,
            done_on=done_on,
            pollen_state=pollen_state,
            note=note,
            logged_by=by,
            logged_at=at,
            client_key=client_key,
        )
        refuse_broken_rules(touch_up)
        touch_up.save()
        return touch_up

    return once(TouchUp, client_key, make)[0]


@transaction.atomic
def withdraw_gesture(
    *, pollinations: Sequence[Pollination], by: Any, at: datetime.datetime, reason: str
) -> None:
    """Withdraw what was logged in one gesture: all of it, or none with the reason."""
    for pollination in pollinations:
        withdraw_pollination(pollination=pollination, by=by, at=at, reason=reason)


@transaction.atomic
def withdraw_pollination(
    *, pollination: Pollination, by: Any, at: datetime.datetime, reason: str
) -> Pollination:
    if pollination.harvests.filter(harvest__withdrawn_at=None).exists():
        raise Refused("harvested", "Capsules were harvested from it; withdraw the harvest first.")
    return withdraw(pollination, by=by, at=at, reason=reason)
