"""Carry what was logged without a signal to the acts, once each, and tell the device what came of it.

An entry is one of the ordinary forms as it was filled in, with the key it was given on the device. The
same form reads it and the same act writes it, so that a rule says the same in the greenhouse and at
the desk. The device keeps an entry until it has heard that it is written or its grower gives it up.
"""

import datetime
from dataclasses import replace

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.forms import Form
from django.http import Http404
from django.utils import timezone

from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from seedbank.members.actions.answer import claim_key, keep_answer
from seedbank.members.models import Member
from seedbank.web.entries.base import Answer, Choices, Entry, Kind, NotYet, Outcome, Stands
from seedbank.web.entries.flowers import FLOWERS
from seedbank.web.entries.seed import SEED

# A device's clock may be a little fast; a season's entries may have waited in a drawer.
CLOCK_MAY_BE_FAST = datetime.timedelta(minutes=10)
CLOCK_MAY_BE_OLD = datetime.timedelta(days=400)

_KINDS: dict[str, Kind] = FLOWERS | SEED
KINDS = tuple(_KINDS)
# Refusals that the grower's word overrules.
_OVERRULED = {"clock-ahead", "clock-behind"}


def take_entry(entry: Entry, *, by: Member, at: datetime.datetime, today: datetime.date) -> Answer:
    """Write an entry down, or say why not; the same key gives the same record."""
    try:
        return _written_before(entry, by) or _write_once(entry, by, at, today)
    except NotYet:
        return Answer(Outcome.LATER, "It waits for what it belongs to.")
    except Stands as changed:
        may = changed.may_agree and not entry.is_agreed
        return Answer(Outcome.CONFLICT, changed.words, stands=changed.stands, may_agree=may)
    except _NotValid as wrong:
        return wrong.answer
    except (Refused, BadInput) as no:
        return _said_no(entry, by, no)
    except (Http404, PermissionDenied):
        words = f"There is nothing of yours with the number {entry.about} any more."
        return Answer(Outcome.CONFLICT, words)


class _NotValid(Exception):  # noqa: N818  an answer, not an error of ours
    """The form itself refuses what was typed."""

    def __init__(self, answer: Answer) -> None:
        super().__init__(answer.words)
        self.answer = answer


def _written_before(entry: Entry, by: Member) -> Answer | None:
    kind = _KINDS[entry.kind]
    record = kind.by_key(entry.key, by) if kind.by_key else None
    return record and _told(Outcome.AGAIN, kind, record)


@transaction.atomic
def _write_once(entry: Entry, by: Member, at: datetime.datetime, today: datetime.date) -> Answer:
    """Write it, and keep the answer in the same transaction; what is refused keeps none."""
    kept = claim_key(member=by, key=f"entry {entry.key}", digest=entry.kind, at=at)
    if kept.body is not None:
        return replace(Answer(**kept.body), outcome=Outcome.AGAIN)
    answer = _write(entry, by, at, today)
    keep_answer(kept=kept, status=200, body=answer.as_json())
    return answer


def _write(entry: Entry, by: Member, at: datetime.datetime, today: datetime.date) -> Answer:
    kind = _KINDS[entry.kind]
    moment = at if entry.is_agreed else entry.logged_at
    _refuse_impossible_clock(moment, at)
    form, act = kind.prepare(entry, by, today, moment)
    if not form.is_valid():
        raise _NotValid(_not_valid(form))
    return _told(Outcome.DONE, kind, act())


def _refuse_impossible_clock(moment: datetime.datetime, at: datetime.datetime) -> None:
    written = f"{timezone.localtime(moment):%d %B %Y, %H:%M}".lstrip("0")
    if moment > at + CLOCK_MAY_BE_FAST:
        raise Refused(
            "clock-ahead",
            f"The clock of the device said {written}, which is still to come. Set it right, look at"
            " the day you wrote, and send it again.",
        )
    if moment < at - CLOCK_MAY_BE_OLD:
        raise Refused(
            "clock-behind",
            f"The clock of the device said {written}, over a year ago. Look at the day you wrote,"
            " and send it again.",
        )


def _said_no(entry: Entry, by: Member, no: Refused | BadInput) -> Answer:
    stands = _stands_now(entry, by)
    choices = no.choices if isinstance(no, Refused) else ()
    return Answer(
        Outcome.CONFLICT if stands else Outcome.REFUSED,
        no.message,
        errors={no.field: no.message},
        choices={no.field: choices} if choices else {},
        stands=stands,
        may_agree=isinstance(no, Refused) and no.code in _OVERRULED,
    )


def _stands_now(entry: Entry, by: Member) -> tuple[str, ...]:
    """Return what is written now of what the entry is about; nothing for what is new."""
    try:
        return tuple(_KINDS[entry.kind].stands(entry, by))
    except (Http404, PermissionDenied, NotYet):
        return ()


def _not_valid(form: Form) -> Answer:
    errors = {name: str(messages[0]) for name, messages in form.errors.items()}
    said = [
        f"{form.fields[name].label}: {message}" if name in form.fields else message
        for name, message in errors.items()
    ]
    return Answer(Outcome.REFUSED, " ".join(said), errors=errors, choices=_choices(form))


def _choices(form: Form) -> dict[str, Choices]:
    """Return what each refused field could have meant, as the page's buttons offer it."""
    return {
        name: tuple(error.params["choices"])
        for name, errors in form.errors.as_data().items()
        for error in errors
        if error.params and error.params.get("choices")
    }


def _told(outcome: str, kind: Kind, record: object) -> Answer:
    told = kind.told(record)
    return Answer(outcome, told.words, told.address, told.number)
