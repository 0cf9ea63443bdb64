"""What pages about members show."""

from django.conf import settings
from django.db.models import QuerySet

from seedbank.members.models import Address, ApiToken, Member, UnsentMail


def members_who_may_reset(email: str) -> QuerySet[Member]:
    """Active members with this e-mail; the invited, who have no password yet, are among them."""
    return Member.objects.filter(email__iexact=email.strip(), is_active=True)


def address_of(member: Member) -> Address | None:
    return Address.objects.filter(member=member).first()


def tokens_of(member: Member) -> QuerySet[ApiToken]:
    return ApiToken.objects.filter(member=member, revoked_at=None)


def mail_words(what: str, member: Member) -> str:
    """Say where "A receipt" goes, or that this society has no mail yet and nothing is sent."""
    if settings.EMAIL_BACKEND.endswith("console.EmailBackend"):
        return f"Mail is not set up here, so nothing was sent. {what} would go to {member.email}."
    return f"{what} goes to {member.email}."


def unsent_mails() -> QuerySet[UnsentMail]:
    return UnsentMail.objects.all()
