"""Personal keys to the API: made, shown once, kept as a digest, revoked."""

import datetime
import hashlib
import logging
import secrets

from django.db import DatabaseError, transaction

from crosses.base.refusal import Refused
from seedbank.members.models import ApiToken, Member

logger = logging.getLogger(__name__)
LONGEST_LIFE = datetime.timedelta(days=366)


def digest_of(secret: str) -> str:
    # A token is 256 random bits, so a plain digest cannot be guessed back.
    return hashlib.sha256(secret.encode()).hexdigest()


@transaction.atomic
def make_token(
    *,
    member: Member,
    name: str,
    at: datetime.datetime,
    life: datetime.timedelta,
    scope: str = ApiToken.Scope.READ,
) -> tuple[ApiToken, str]:
    """Return the record and the secret; the secret is nowhere else."""
    if not datetime.timedelta() < life <= LONGEST_LIFE:
        raise Refused("token-life", "A token lives between a day and a year.", field="days")
    secret = secrets.token_urlsafe(32)
    token = ApiToken.objects.create(
        member=member,
        name=name,
        digest=digest_of(secret),
        hint=secret[-4:],
        created_at=at,
        expires_at=at + life,
        scope=scope,
    )
    return token, secret


@transaction.atomic
def revoke_token(*, token: ApiToken, at: datetime.datetime) -> None:
    token.revoked_at = token.revoked_at or at
    token.save(update_fields=["revoked_at"])


def member_of_token(secret: str, *, at: datetime.datetime) -> ApiToken | None:
    """Return the living token, with its member, or None; its last use is noted by the hour."""
    token = (
        ApiToken.objects.select_related("member")
        .filter(
            digest=digest_of(secret), revoked_at=None, expires_at__gt=at, member__is_active=True
        )
        .first()
    )
    if token is None:
        return None
    if token.last_used_at is None or at - token.last_used_at > datetime.timedelta(hours=1):
        _note_use(token, at)
    return token


def _note_use(token: ApiToken, at: datetime.datetime) -> None:
    """Note it where that can be done: a database that can only be read still answers."""
    try:
        with transaction.atomic():
            ApiToken.objects.filter(pk=token.pk).update(last_used_at=at)
    except DatabaseError:
        logger.warning("The use of a key could not be noted.")
