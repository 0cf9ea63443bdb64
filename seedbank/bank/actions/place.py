"""Places where packets lie: a member's own, and the bank's."""

from typing import Any

from django.db import IntegrityError, transaction

from crosses.base.refusal import Refused
from crosses.base.version import count_change
from seedbank.bank.facts import PLACE
from seedbank.bank.models import Place
from seedbank.members.models import Member


def refuse_unasked_second(*, owner: Member | None, name: str, **others: object) -> None:
    """Ask before a second place of one name is added, under another code."""
    first = Place.objects.filter(owner=owner, name=name.strip()).first() if name.strip() else None
    if first is not None:
        raise Refused(
            "place-there",
            f"{first.code} has this name already. Add a second place of this name?",
            choices=[("yes", "Add a second one")],
        )


@transaction.atomic
def add_place(
    *,
    by: Member,
    owner: Member | None = None,
    **facts: Any,
) -> Place:
    """Add a place; without an owner it is the bank's, which only a keeper may add to."""
    if owner is None and not by.is_keeper:
        raise Refused("not-the-keeper", "Only a seed keeper adds places to the bank.")
    place = Place(owner=owner)
    PLACE.set_on(place, facts)
    return _save(place)


@transaction.atomic
def change_place(*, place: Place, **facts: Any) -> Place:
    PLACE.set_on(place, facts)
    return _save(place)


def _save(place: Place) -> Place:
    place.code, place.name = place.code.strip(), place.name.strip()
    if not place.code:
        raise Refused(
            "place-code", "Give the place a short code, as written on the tray.", field="code"
        )
    try:
        with transaction.atomic():
            count_change(place)
            place.save()
    except IntegrityError as taken:
        raise Refused(
            "place-taken", f"There is a place {place.code} already.", field="code"
        ) from taken
    return place
