"""Write down what was seen of a pollination on a day, and reckon where it stands."""

import datetime
import uuid
from typing import Any

from django.db import transaction

from crosses.actions.photo import add_photo
from crosses.actions.rules import (
    refuse_before_pollination,
    refuse_broken_rules,
    refuse_future,
    refuse_withdrawn,
)
from crosses.base.history import save_with_history
from crosses.base.idempotency import once
from crosses.base.refusal import Refused
from crosses.base.withdrawal import withdraw
from crosses.calc.capsule import CapsuleState, opening_interval
from crosses.calc.errors import BadInput
from crosses.facts.capsule import CHECK
from crosses.formats.photo import Photo
from crosses.models import Check, Pollination
from crosses.queries.capsules import state_of, things_seen


def lock_pollination(pollination: Pollination) -> Pollination:
    """Hold the row until the act ends, so that two looks at one moment are added up in turn."""
    return Pollination.objects.select_for_update().get(pk=pollination.pk)


def reckon_state(pollination: Pollination, by: Any) -> Pollination:
    """Add the checks and harvests of a pollination up and keep the result beside it.

    The only writer of a pollination's state. A count that cannot be is refused in words, and with
    it the act that asked for the reckoning.
    """
    state = state_of(pollination)
    found = {
        "state": _state_kept(pollination, state),
        "capsules_set": state.capsules_set,
        "capsules_harvested": state.capsules_harvested,
    }
    changed = [name for name, value in found.items() if getattr(pollination, name) != value]
    if not changed:
        return pollination
    for name in changed:
        setattr(pollination, name, found[name])
    save_with_history(pollination, by=by, why="reckoned from its checks", fields=changed)
    return pollination


def _state_kept(pollination: Pollination, state: CapsuleState) -> str:
    """Where no pollen was found there was no pollination, unless a capsule says otherwise."""
    if not pollination.pollen_seen and not state.capsules_set:
        return Pollination.State.NO_POLLEN
    return state.state


def _refuse_impossible_days(pollination: Pollination) -> None:
    try:
        opening_interval(pollination.pollinated_on, things_seen(pollination))
    except BadInput as no:
        raise Refused("day-impossible", no.message, field="seen_on") from no


@transaction.atomic
def record_check(
    *,
    pollination: Pollination,
    by: Any,
    at: datetime.datetime,
    seen_on: datetime.date,
    kind: str,
    photo: Photo | None = None,
    client_key: uuid.UUID | None = None,
    **facts: Any,
) -> Check:
    """Write a look down; `flowers` left out means all that are still open questions."""
    refuse_withdrawn(pollination, "pollination")
    refuse_future(seen_on, at=at, field="seen_on")
    refuse_before_pollination(seen_on, pollination, "The flower", field="seen_on")

    def make() -> Check:
        held = lock_pollination(pollination)
        check = Check(
            pollination=held,
            seen_on=seen_on,
            kind=kind,
            logged_by=by,
            logged_at=at,
            client_key=client_key,
        )
        CHECK.set_on(check, facts)
        refuse_broken_rules(check)
        save_with_history(check, by=by)
        _refuse_impossible_days(held)
        _reckon_at_field(held, by, field="flowers")
        if photo is not None:
            add_photo(check=check, by=by, at=at, photo=photo)
        return check

    check = once(Check, client_key, make)[0]
    pollination.refresh_from_db(fields=["state", "capsules_set", "capsules_harvested"])
    return check


def _reckon_at_field(pollination: Pollination, by: Any, *, field: str) -> None:
    try:
        reckon_state(pollination, by)
    except BadInput as no:
        raise Refused("count-impossible", no.message, field=field) from no


@transaction.atomic
def withdraw_check(*, check: Check, by: Any, at: datetime.datetime, reason: str) -> Check:
    """Take a look back, a slip of the thumb for instance; the state is reckoned without it."""
    pollination = lock_pollination(check.pollination)
    withdraw(check, by=by, at=at, reason=reason)
    _reckon_at_field(pollination, by, field="")
    return check
