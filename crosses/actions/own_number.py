"""Reserve own numbers for a device that will give them without a signal."""

import uuid
from collections.abc import Iterator
from itertools import product
from typing import Any

from django.contrib.auth import get_user_model
from django.db import transaction

from crosses.models import Cross, OwnNumberLetter

# Without those that look like a digit on a wet tag.
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


@transaction.atomic
def letter_of_device(*, grower: Any, device: uuid.UUID) -> str:
    """Return the letter of this device, a new one if it has none; no other number begins with it."""
    # Two devices that ask at one moment wait for each other here.
    get_user_model()._default_manager.select_for_update().get(pk=grower.pk)  # noqa: SLF001
    given = OwnNumberLetter.objects.filter(grower=grower)
    if known := given.filter(device=device).first():
        return known.letter
    taken = set(given.values_list("letter", flat=True))
    written = Cross.objects.filter(grower=grower).values_list("own_number", flat=True)
    taken |= {own.partition("-")[2].rstrip("0123456789").upper() for own in written}
    free = next(letter for letter in _letters() if letter not in taken)
    OwnNumberLetter.objects.create(grower=grower, device=device, letter=free)
    return free


def _letters() -> Iterator[str]:
    for length in (1, 2, 3):
        yield from map("".join, product(_LETTERS, repeat=length))
