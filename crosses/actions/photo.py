"""Keep a photograph of what was seen, and let it go again."""

import datetime
import uuid
from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction

from crosses.actions.rules import refuse_withdrawn
from crosses.base.idempotency import once
from crosses.base.refusal import Refused
from crosses.base.withdrawal import withdraw
from crosses.formats.photo import Photo
from crosses.models import Check, CheckPhoto

MOST_PHOTOS_A_CHECK = 4


@transaction.atomic
def add_photo(
    *,
    check: Check,
    by: Any,
    at: datetime.datetime,
    photo: Photo,
    client_key: uuid.UUID | None = None,
) -> CheckPhoto:
    refuse_withdrawn(check, "check")

    def make() -> CheckPhoto:
        if check.photos.filter(withdrawn_at=None).count() >= MOST_PHOTOS_A_CHECK:
            raise Refused(
                "too-many-photos",
                f"A look has up to {MOST_PHOTOS_A_CHECK} photos; take one away first.",
                field="photo",
            )
        return CheckPhoto.objects.create(
            look=check,
            # The name tells nothing, and cannot be guessed from another.
            file=ContentFile(photo.jpeg, name=f"{uuid.uuid4()}.jpg"),
            width=photo.width,
            height=photo.height,
            logged_by=by,
            logged_at=at,
            client_key=client_key,
        )

    return once(CheckPhoto, client_key, make)[0]


@transaction.atomic
def withdraw_photo(*, photo: CheckPhoto, by: Any, at: datetime.datetime, reason: str) -> CheckPhoto:
    """Take a photo away. Its line stays with the reason, the file goes: it may show somebody."""
    withdraw(photo, by=by, at=at, reason=reason)
    transaction.on_commit(lambda: photo.file.delete(save=False))
    return photo
