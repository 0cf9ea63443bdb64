"""Same client key, same answer: a double tap or a retried send makes one record."""

import uuid
from collections.abc import Callable
from typing import TypeVar

from django.db import IntegrityError, models, transaction

from crosses.base.refusal import Refused

Record = TypeVar("Record", bound=models.Model)


def once(
    model: type[Record], client_key: uuid.UUID | None, make: Callable[[], Record]
) -> tuple[Record, bool]:
    """Return the record made under this key before, or make it; the flag says whether it is new.

    Two sends can arrive at the same moment; the unique key lets one of them write, and the other
    finds what was written. A rule may be what stops the other: what it asks for is there already.
    """
    records = model._default_manager  # noqa: SLF001  the documented name of the manager
    if client_key is None:
        return make(), True
    found = records.filter(client_key=client_key).first()
    if found is not None:
        return found, False
    try:
        with transaction.atomic():
            return make(), True
    except (IntegrityError, Refused):
        found = records.filter(client_key=client_key).first()
        if found is None:
            raise
        return found, False
