"""Answers to writes, kept for a while under the key that their sender made."""

import datetime
from typing import Any

from django.db import IntegrityError, transaction

from seedbank.members.models import KeptAnswer, Member

KEPT = datetime.timedelta(days=30)


@transaction.atomic
def claim_key(*, member: Member, key: str, digest: str, at: datetime.datetime) -> KeptAnswer:
    """Return the answer kept under a key, or a new one without a status, to be filled in.

    To be called inside the transaction of the write: of two that arrive at one moment the second
    waits at the unique key until the first is done, and then finds its answer.
    """
    KeptAnswer.objects.filter(at__lt=at - KEPT).delete()
    try:
        with transaction.atomic():
            return KeptAnswer.objects.create(member=member, key=key, digest=digest, at=at)
    except IntegrityError:
        return KeptAnswer.objects.get(member=member, key=key)


@transaction.atomic
def keep_answer(*, kept: KeptAnswer, status: int, body: Any) -> KeptAnswer:
    kept.status, kept.body = status, body
    kept.save(update_fields=["status", "body"])
    return kept
