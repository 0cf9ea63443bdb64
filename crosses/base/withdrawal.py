"""Withdraw with a reason instead of delete."""

import datetime
from typing import Any, TypeVar

from django.conf import settings
from django.db import models

from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from crosses.base.version import Versioned


class Withdrawable(Versioned):
    """A record that can be withdrawn but not lost."""

    withdrawn_at = models.DateTimeField(null=True, blank=True, editable=False)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        editable=False,
        on_delete=models.PROTECT,
        related_name="+",
    )
    withdrawn_reason = models.CharField(max_length=300, blank=True, editable=False)

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=models.Q(
                    withdrawn_at__isnull=True, withdrawn_by__isnull=True, withdrawn_reason=""
                )
                | (
                    models.Q(withdrawn_at__isnull=False, withdrawn_by__isnull=False)
                    & ~models.Q(withdrawn_reason="")
                ),
                name="%(app_label)s_%(class)s_withdrawn_with_reason",
                violation_error_message="A withdrawal needs a person and a reason.",
            )
        ]

    @property
    def is_withdrawn(self) -> bool:
        return self.withdrawn_at is not None


Record = TypeVar("Record", bound=Withdrawable)


def withdraw(record: Record, *, by: Any, at: datetime.datetime, reason: str) -> Record:
    """Take a record out of use; it stays to be read, with the reason beside it."""
    if record.is_withdrawn:
        raise Refused("already-withdrawn", "This record has been withdrawn already.")
    if not reason.strip():
        raise Refused("reason-missing", "Say why it is withdrawn.", field="reason")
    record.withdrawn_at = at
    record.withdrawn_by = by
    record.withdrawn_reason = reason.strip()
    save_with_history(record, by=by, why=reason.strip())
    return record
