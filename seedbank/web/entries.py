"""Carry what was logged without a signal to the acts, once each, and tell the device what came of it.

An entry is one of the ordinary forms as it was filled in, with the key it was given on the device. The
same form reads it and the same act writes it, so that a rule says the same in the greenhouse and at
the desk. The device keeps an entry until it has heard that it is written or its grower gives it up.
"""

import datetime
import uuid
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from django.core.exceptions import PermissionDenied
from django.forms import Form
from django.http import Http404, QueryDict
from django.urls import reverse
from django.utils import timezone

from crosses.access import pollination_for_writing
from crosses.actions.capsule import record_check
from crosses.actions.pollination import add_touch_up, log_both_ways, log_pollination
from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from crosses.forms.capsule import CheckForm
from crosses.forms.pollination import PollinationForm, TouchUpForm
from crosses.models import Check, Plant, Pollination, TouchUp
from crosses.queries.forecast import OPEN_STATES
from seedbank.members.models import Member
from seedbank.sowings.access import sowing_for_writing
from seedbank.sowings.actions.count import record_count
from seedbank.sowings.forms import CountForm
from seedbank.sowings.models import Count, Sowing
from seedbank.sowings.queries.pages import loaded
from seedbank.web.standing import flower_as_it_stands, sowing_as_it_stands

# A device's clock may be a little fast; a season's entries may have waited in a drawer.
CLOCK_MAY_BE_FAST = datetime.timedelta(minutes=10)
CLOCK_MAY_BE_OLD = datetime.timedelta(days=400)


class Outcome:
    """What became of an entry."""

    DONE = "done"
    AGAIN = "again"
    REFUSED = "refused"
    CONFLICT = "conflict"
    # What it belongs to is on the device still.
    LATER = "later"


@dataclass(frozen=True)
class Entry:
    """What a device sends: which form, about which record, and what was typed.

    `about` is the number of a flower or sowing, or the key of a pollination that was logged without
    a signal too. `seen` is what the device showed of the plants when it was logged. `is_agreed` says
    that the grower has seen what has changed meanwhile and wants it written all the same.
    """

    kind: str
    about: str
    key: uuid.UUID
    logged_at: datetime.datetime
    is_agreed: bool
    seen: Mapping[str, str]
    typed: QueryDict
    files: Any


@dataclass(frozen=True)
class Answer:
    """What is told the device; `stands` is what the record says now, where that is the trouble."""

    outcome: str
    words: str
    address: str = ""
    number: str = ""
    errors: Mapping[str, str] = field(default_factory=dict)
    stands: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        return asdict(self)


class _NotYet(Exception):  # noqa: N818  an answer, not an error of ours
    """The pollination it belongs to is not written yet."""


class _Stands(Exception):  # noqa: N818  an answer, not an error of ours
    """What the entry speaks of is no longer as the device showed it."""

    def __init__(self, words: str, stands: list[str]) -> None:
        super().__init__(words)
        self.words, self.stands = words, tuple(stands)


def take_entry(entry: Entry, *, by: Member, at: datetime.datetime, today: datetime.date) -> Answer:
    """Write an entry down, or say why not; the same key gives the same record."""
    try:
        return _written_before(entry, by) or _write(entry, by, at, today)
    except _NotYet:
        return Answer(Outcome.LATER, "It waits for the pollination it belongs to.")
    except _Stands as changed:
        return Answer(Outcome.CONFLICT, changed.words, stands=changed.stands)
    except (Refused, BadInput) as no:
        stands = _stands_now(entry, by)
        outcome = Outcome.CONFLICT if stands else Outcome.REFUSED
        return Answer(outcome, no.message, errors={no.field: no.message}, stands=stands)
    except (Http404, PermissionDenied):
        words = f"There is nothing of yours with the number {entry.about} any more."
        return Answer(Outcome.CONFLICT, words)


def _written_before(entry: Entry, by: Member) -> Answer | None:
    record = _MODELS[entry.kind].objects.filter(client_key=entry.key, logged_by=by).first()
    return record and _done(Outcome.AGAIN, entry.kind, record)


def _write(entry: Entry, by: Member, at: datetime.datetime, today: datetime.date) -> Answer:
    moment = at if entry.is_agreed else entry.logged_at
    _refuse_impossible_clock(moment, at)
    form, act = _PREPARE[entry.kind](entry, by, today, moment)
    if not form.is_valid():
        return _refused(form)
    return _done(Outcome.DONE, entry.kind, act())


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


def _pollination(
    entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime
) -> tuple[Form, Callable[[], object]]:
    form = PollinationForm(entry.typed, user=by, today=today)
    if form.is_valid() and not entry.is_agreed:
        _refuse_renamed(form, entry.seen)

    def act() -> Pollination:
        facts = {"cross": form.where(), "by": by, "at": moment, **form.facts()}
        if not form.cleaned_data["both_ways"]:
            return log_pollination(client_key=entry.key, **facts)
        back = form.cleaned_data["flowers_back"] or 1
        return log_both_ways(client_key=entry.key, flowers_back=back, **facts)[0]

    return form, act


def _refuse_renamed(form: PollinationForm, seen: Mapping[str, str]) -> None:
    """A tag was written with the name that the device showed."""
    plants: list[tuple[str, Plant | None]] = [
        (name, form.cleaned_data.get(name)) for name in ("seed_parent", "pollen_parent")
    ]
    renamed = [
        f"{plant.number} is now called {plant.name_text}. On your device it was {seen[name]}."
        for name, plant in plants
        if plant is not None and seen.get(name) and seen[name] != plant.name_text
    ]
    if renamed:
        raise _Stands("A plant was given another name meanwhile. Is it the one you meant?", renamed)


def _flower_of(entry: Entry, by: Member) -> Pollination:
    """Return the flower by its number, or by the key of the entry that logged it."""
    number = entry.about
    if key := _key_in(number):
        logged = Pollination.objects.filter(client_key=key, logged_by=by).first()
        if logged is None:
            raise _NotYet
        number = logged.number
    flower = pollination_for_writing(by, number)
    if not entry.is_agreed and (flower.is_withdrawn or flower.state not in OPEN_STATES):
        raise _Stands(
            "This flower is no longer open, so a look or a touch-up may not belong to it.",
            flower_as_it_stands(flower),
        )
    return flower


def _key_in(about: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(about)
    except ValueError:
        return None


def _touch_up(
    entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime
) -> tuple[Form, Callable[[], object]]:
    flower = _flower_of(entry, by)
    form = TouchUpForm(entry.typed, today=today)
    return form, lambda: add_touch_up(pollination=flower, by=by, at=moment, **form.cleaned_data)


def _check(
    entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime
) -> tuple[Form, Callable[[], object]]:
    flower = _flower_of(entry, by)
    form = CheckForm(entry.typed, entry.files, today=today)
    return form, lambda: record_check(pollination=flower, by=by, at=moment, **form.cleaned_data)


def _count(
    entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime
) -> tuple[Form, Callable[[], object]]:
    pots = list(loaded(sowing_for_writing(by, entry.about)).replicates.all())
    form = CountForm(entry.typed, pots=pots)
    return form, lambda: record_count(by=by, at=moment, **form.cleaned_data)


_PREPARE = {
    "pollination": _pollination,
    "touch-up": _touch_up,
    "check": _check,
    "count": _count,
}
KINDS = tuple(_PREPARE)
_MODELS: dict[str, Any] = {
    "pollination": Pollination,
    "touch-up": TouchUp,
    "check": Check,
    "count": Count,
}


def _stands_now(entry: Entry, by: Member) -> tuple[str, ...]:
    """Return what is written now of what the entry is about; nothing for a flower that is new."""
    try:
        if entry.kind in {"touch-up", "check"}:
            return tuple(flower_as_it_stands(pollination_for_writing(by, entry.about)))
        if entry.kind == "count":
            return tuple(sowing_as_it_stands(sowing_for_writing(by, entry.about)))
    except (Http404, PermissionDenied):
        pass
    return ()


def _refused(form: Form) -> Answer:
    errors = {name: str(messages[0]) for name, messages in form.errors.items()}
    said = [
        f"{form.fields[name].label}: {message}" if name in form.fields else message
        for name, message in errors.items()
    ]
    return Answer(Outcome.REFUSED, " ".join(said), errors=errors)


def _done(outcome: str, kind: str, record: Any) -> Answer:
    if kind == "pollination":
        address = reverse("pollination-tag", args=[record.number])
        return Answer(outcome, f"{record.number} is written down.", address, record.number)
    if kind == "count":
        sowing: Sowing = record.replicate.sowing
        address = reverse("sowing-detail", args=[sowing.number])
        words = f"{sowing.number}: {record.newly_seen} new, counted."
        return Answer(outcome, words, address, sowing.number)
    flower = record.pollination
    said = f"{record.get_kind_display()} is noted." if kind == "check" else "touched up."
    address = reverse("pollination-detail", args=[flower.number])
    return Answer(outcome, f"{flower.number}: {said}", address, flower.number)
