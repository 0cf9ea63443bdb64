"""Who wants the day's work by mail, and that each gets it once a day."""

import datetime
from collections.abc import Callable

from django.db import transaction

from seedbank.members.actions.mail import Letter, mail_members
from seedbank.members.models import DailyMail, Member


@transaction.atomic
def want_daily_mail(*, member: Member, at: datetime.datetime, wants: bool) -> None:
    if wants:
        DailyMail.objects.get_or_create(member=member, defaults={"since": at})
        return
    DailyMail.objects.filter(member=member).delete()


@transaction.atomic
def see_to_daily_mail(
    *, member: Member, today: datetime.date, letter: Callable[[], Letter | None]
) -> bool:
    """Mail a member's letter of the day unless it was seen to already; say whether it was sent.

    The row is held meanwhile, so that two runs at one moment send one letter; `letter` is asked
    inside, and None is a day with nothing in it.
    """
    held = DailyMail.objects.select_for_update().filter(member=member)
    wanting = held.order_by("pk").first()
    if wanting is None or wanting.seen_to_on == today:
        return False
    wanting.seen_to_on = today
    wanting.save(update_fields=["seen_to_on"])
    written = letter()
    if written is None:
        return False
    mail_members(written)
    return True
