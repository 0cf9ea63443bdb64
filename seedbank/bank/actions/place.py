"""Places where packets lie: a member's own, and the bank's."""

from decimal import Decimal

from django.db import IntegrityError, transaction

from crosses.base.refusal import Refused
from crosses.base.version import count_change
from seedbank.bank.models import Place
from seedbank.members.models import Member


@transaction.atomic
def add_place(
    *,
    code: str,
    by: Member,
    owner: Member | None = None,
    walk_order: int = 0,
    name: str = "",
    temperature_celsius: Decimal | None = None,
) -> Place:
    """Add a place; without an owner it is the bank's, which only a keeper may add to."""
    if owner is None and not by.is_keeper:
        raise Refused("not-the-keeper", "Only a seed keeper adds places to the bank.")
    place = Place(
        code=code.strip(),
        owner=owner,
        walk_order=walk_order,
        name=name.strip(),
        temperature_celsius=temperature_celsius,
    )
    return _save(place)


@transaction.atomic
def change_place(
    *, place: Place, code: str, name: str, walk_order: int, temperature_celsius: Decimal | None
) -> Place:
    place.code = code.strip()
    place.name = name.strip()
    place.walk_order = walk_order
    place.temperature_celsius = temperature_celsius
    return _save(place)


def _save(place: Place) -> Place:
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
