"""What pages about members show."""

from django.db.models import QuerySet

from seedbank.members.models import Address, ApiToken, Member


def members_who_may_reset(email: str) -> QuerySet[Member]:
    """Active members with this e-mail; the invited, who have no password yet, are among them."""
    return Member.objects.filter(email__iexact=email.strip(), is_active=True)


def address_of(member: Member) -> Address | None:
    return Address.objects.filter(member=member).first()


def tokens_of(member: Member) -> QuerySet[ApiToken]:
    return ApiToken.objects.filter(member=member, revoked_at=None)
