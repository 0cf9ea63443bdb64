"""Secret addresses for calendars: made, shown once, kept as a digest, revoked."""

import datetime
import secrets

from django.db import transaction

from crosses.base.refusal import Refused
from seedbank.members.actions.token import digest_of
from seedbank.members.models import CalendarAddress, Member

MOST_ADDRESSES = 5
# A calendar reads every few hours; that it did is noted once an hour at most.
_NOTED_EVERY = datetime.timedelta(hours=1)


@transaction.atomic
def make_calendar_address(
    *, member: Member, name: str, at: datetime.datetime
) -> tuple[CalendarAddress, str]:
    """Return the record and the secret of the address; the secret is nowhere else."""
    living = CalendarAddress.objects.filter(member=member, revoked_at=None)
    if living.count() >= MOST_ADDRESSES:
        raise Refused(
            "too-many-addresses",
            f"You have {MOST_ADDRESSES} calendar addresses; revoke one that no calendar reads.",
            field="name",
        )
    secret = secrets.token_urlsafe(32)
    address = CalendarAddress.objects.create(
        member=member, name=name, digest=digest_of(secret), created_at=at
    )
    return address, secret


@transaction.atomic
def revoke_calendar_address(*, address: CalendarAddress, at: datetime.datetime) -> None:
    address.revoked_at = address.revoked_at or at
    address.save(update_fields=["revoked_at"])


def address_of_calendar(secret: str, *, at: datetime.datetime) -> CalendarAddress | None:
    """Return the living address of this secret, with its member, or None."""
    address = (
        CalendarAddress.objects.select_related("member")
        .filter(digest=digest_of(secret), revoked_at=None, member__is_active=True)
        .first()
    )
    if address is None:
        return None
    if address.last_read_at is None or at - address.last_read_at >= _NOTED_EVERY:
        address.last_read_at = at
        address.save(update_fields=["last_read_at"])
    return address
