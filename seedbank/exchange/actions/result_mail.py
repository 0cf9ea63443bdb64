"""Mail every member what they were given, in the background: a mail server takes its while."""

from collections import defaultdict
from collections.abc import Sequence

from django.db import transaction

from seedbank.exchange.models import MemberAccount, ParcelItem, Round
from seedbank.exchange.queries.results import last_run
from seedbank.jobs.work import Work
from seedbank.members.actions.mail import Letter, mail_members, mails_told
from seedbank.members.models import Member

RESULT_MAILS = "result-mails"
MAILS_AT_ONCE = 50


def mail_results(work: Work) -> str:
    """Mail the members of a round their results; broken off, it goes on with the next fifty."""
    round = Round.objects.get(pk=work.arguments["round"])
    accounts = MemberAccount.objects.filter(run=last_run(round)).order_by("member_number")
    numbers = list(accounts.values_list("member_number", flat=True))
    work.tell(work.position, len(numbers))
    for first in range(work.position, len(numbers), MAILS_AT_ONCE):
        some = numbers[first : first + MAILS_AT_ONCE]
        with transaction.atomic():
            mail_members(*_letters(round, some, work.batch))
            work.keep(first + len(some))
    return mails_told(_living(numbers), work.batch)


def _living(numbers: Sequence[str]) -> int:
    """Count whom a letter was written to; who has left the society meanwhile gets none."""
    return Member.objects.filter(number__in=numbers, is_active=True).count()


def _letters(round: Round, numbers: Sequence[str], batch: str) -> list[Letter]:
    items = defaultdict(list)
    given = ParcelItem.objects.filter(
        parcel__round=round, parcel__member__number__in=numbers, released_at=None
    )
    for item in given.select_related("line__lot", "parcel").order_by("line__line_number", "pk"):
        items[item.parcel.member_id].append(item)
    return [
        Letter(
            member=member,
            subject=f"What you were given: {round.name}",
            template="exchange/allocation/result_mail.txt",
            context={"round": round, "items": items[member.pk]},
            batch=batch,
        )
        for member in Member.objects.filter(number__in=numbers).order_by("number")
    ]
