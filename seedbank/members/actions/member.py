"""Members: invited by the administrator, then they look after their own address."""

from django.conf import settings
from django.contrib.auth.tokens import default_token_generator
from django.db import transaction
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from crosses.base.version import count_change
from seedbank.members.actions.mail import Letter, mail_members
from seedbank.members.models import Address, Member


@transaction.atomic
def invite(*, member: Member, by: Member) -> Member:
    """Save a new member without a password, and mail the link at which they choose one."""
    member.set_unusable_password()
    save_with_history(member, by=by, why="invited")
    send_invitation(member=member)
    return member


def send_invitation(*, member: Member) -> None:
    if not member.is_active:
        raise Refused("not-active", f"{member.name} may not sign in; nobody was invited.")
    path = reverse(
        "password-reset-confirm",
        kwargs={
            "uidb64": urlsafe_base64_encode(force_bytes(member.pk)),
            "token": default_token_generator.make_token(member),
        },
    )
    mail_members(
        Letter(
            member=member,
            subject=f"Welcome to {settings.SOCIETY_NAME}",
            template="registration/invitation_mail.txt",
            context={"path": path, "days": settings.PASSWORD_RESET_TIMEOUT // 86400},
            is_secret=True,
        )
    )


@transaction.atomic
def save_address(*, member: Member, by: Member, lines: str, country: str) -> Address:
    """Write a member's postal address; which seed may be sent to them follows its country."""
    tidy = "\n".join(line.strip() for line in lines.splitlines() if line.strip())
    if not tidy:
        raise Refused(
            "address-empty", "Write the address as the post office wants it.", field="lines"
        )
    address = Address.objects.filter(member=member).first() or Address(member=member)
    address.lines, address.country = tidy, country
    count_change(address)
    address.save()
    if member.country != country:
        member.country = country
        save_with_history(member, by=by, why="moved", fields=["country"])
    return address
