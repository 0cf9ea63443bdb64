"""Mail to members: in the society's name, sent once what it tells of stands in the database."""

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from smtplib import SMTPException
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db import transaction
from django.template.loader import render_to_string

from crosses.base.clock import now
from crosses.base.refusal import Refused
from seedbank.members.models import Member, UnsentMail

logger = logging.getLogger(__name__)
# What a mail server, or the way to it, does wrong; anything else is a fault of ours.
FAILURES = (SMTPException, OSError)


@dataclass(frozen=True)
class Letter:
    """A mail to one member, written by a text template of `templates/`.

    The template knows `member`, `society_name` and `site_address`, to stand before every path:
    `{{ site_address }}{% url "wishes" round.slug %}`. A letter that holds a key to an account is
    secret: where it cannot be sent its words are not kept. `batch` names the work it is part of, for
    `mails_told` to say what became of all of it.
    """

    member: Member
    subject: str
    template: str
    context: Mapping[str, Any] = field(default_factory=dict)
    is_secret: bool = False
    batch: str = ""


def mail_members(*letters: Letter) -> int:
    """Send letters after the transaction they are written in; none to who has left the society.

    Returns how many are on their way.

    What tells of an act never undoes it: a letter that cannot be sent is logged and kept, for the
    administrator to send again.
    """
    mails = [_written(letter) for letter in letters if letter.member.is_active]
    if mails:
        transaction.on_commit(lambda: _send(mails), robust=True)
    return len(mails)


def mails_told(written: int, batch: str) -> str:
    """Say of a batch, once its letters were tried, how many went and how many did not."""
    unsent = UnsentMail.objects.filter(batch=batch).count()
    told = written - unsent
    words = f"{told} member{'' if told == 1 else 's'} told by mail."
    if unsent:
        mails = "1 mail" if unsent == 1 else f"{unsent} mails"
        words += f" {mails} could not be sent: see the page of mails not sent."
    return words


def send_again(*, mails: Sequence[UnsentMail]) -> int:
    """Try kept letters once more and return how many went out; what went out is kept no longer."""
    if any(mail.is_secret for mail in mails):
        raise Refused("mail-secret", "A letter with a link of its own is not kept: invite again.")
    return _send([mail for mail in mails if mail.member.is_active])


def _written(letter: Letter) -> UnsentMail:
    context = {
        **letter.context,
        "member": letter.member,
        "society_name": settings.SOCIETY_NAME,
        "site_address": settings.SITE_ADDRESS,
    }
    return UnsentMail(
        member=letter.member,
        subject=" ".join(letter.subject.split()),
        body=render_to_string(letter.template, context),
        is_secret=letter.is_secret,
        batch=letter.batch,
    )


def _send(mails: Sequence[UnsentMail]) -> int:
    """Send over one connection, so that a mail to everybody does not greet the server each time."""
    connection = get_connection()
    try:
        connection.open()
    except FAILURES as failure:
        for mail in mails:
            _keep(mail, failure)
        return 0
    sent = 0
    for mail in mails:
        to = [mail.member.email]
        try:
            EmailMessage(mail.subject, mail.body, to=to, connection=connection).send()
        except FAILURES as failure:
            _keep(mail, failure)
            continue
        sent += 1
        if mail.pk:
            mail.delete()
    connection.close()
    return sent


def _keep(mail: UnsentMail, failure: Exception) -> None:
    logger.error("A mail to member %s was not sent: %s", mail.member.number, failure)
    mail.failed_at, mail.failure = now(), str(failure)[:300] or type(failure).__name__
    if mail.is_secret:
        mail.body = ""
    mail.save()
