"""The day's work by mail: what stands on the bench, to those who want it, and to nobody twice."""

import datetime

from seedbank.members.actions.daily_mail import see_to_daily_mail
from seedbank.members.actions.mail import Letter
from seedbank.members.models import Member
from seedbank.members.queries import members_to_mail
from seedbank.web.bench_queries import bench_of

MOST_FLOWERS = 20


def send_daily_mails(*, today: datetime.date, at: datetime.datetime) -> int:
    """Mail each member who wants it what needs them today, and return how many had something."""
    return sum(
        see_to_daily_mail(
            member=member,
            today=today,
            letter=lambda member=member: _letter(member, today, at),  # type: ignore[misc]
        )
        for member in members_to_mail(today)
    )


def _letter(member: Member, today: datetime.date, at: datetime.datetime) -> Letter | None:
    """Write what needs a member today; seed that can wait is told along, and is no reason to write."""
    bench = bench_of(member, today, at)
    flowers = bench.watch.now
    if not (flowers or bench.pots_to_count):
        return None
    parts = [f"{len(flowers)} flower{'' if len(flowers) == 1 else 's'} to look at"] * bool(flowers)
    pots = bench.pots_to_count
    parts += [f"{pots} pot{'' if pots == 1 else 's'} to count"] * bool(pots)
    return Letter(
        member=member,
        subject=f"{today.day} {today:%B}: {', '.join(parts)}",
        template="web/daily_mail.txt",
        context={
            "bench": bench,
            "flowers": flowers[:MOST_FLOWERS],
            "more": max(len(flowers) - MOST_FLOWERS, 0),
        },
    )
