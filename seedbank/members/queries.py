"""What pages about members show."""

import datetime

from django.conf import settings
from django.db.models import QuerySet

from seedbank.members.models import (
    Address,
    ApiToken,
    CalendarAddress,
    DailyMail,
    Member,
    UnsentMail,
)


def members_who_may_reset(email: str) -> QuerySet[Member]:
    """Active members with this e-mail; the invited, who have no password yet, are among them."""
    return Member.objects.filter(email__iexact=email.strip(), is_active=True)


def address_of(member: Member) -> Address | None:
    return Address.objects.filter(member=member).first()


def tokens_of(member: Member) -> QuerySet[ApiToken]:
    return ApiToken.objects.filter(member=member, revoked_at=None)


def calendar_addresses_of(member: Member) -> QuerySet[CalendarAddress]:
    return CalendarAddress.objects.filter(member=member, revoked_at=None)


def wants_daily_mail(member: Member) -> bool:
    return DailyMail.objects.filter(member=member).exists()


def members_to_mail(today: datetime.date) -> QuerySet[Member]:
    """Active members who want the day's work by mail and were not seen to yet today."""
    wanting = DailyMail.objects.exclude(seen_to_on=today).values("member")
    return Member.objects.filter(pk__in=wanting, is_active=True)


def mail_words(what: str, member: Member) -> str:
    """Say where "A receipt" goes, or that this society has no mail yet and nothing is sent."""
    if settings.EMAIL_BACKEND.endswith("console.EmailBackend"):
        return f"Mail is not set up here, so nothing was sent. {what} would go to {member.email}."
    return f"{what} goes to {member.email}."


def unsent_mails(viewer: Member) -> QuerySet[UnsentMail]:
    """Mails that did not go, for whoever answers for them: the seed keeper and the administrator."""
    mails = UnsentMail.objects.select_related("member")
    return mails if viewer.is_keeper or viewer.is_staff else mails.none()
