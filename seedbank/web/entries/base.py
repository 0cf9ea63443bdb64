"""What a device sends, what it is answered, and what a kind of entry has to say of itself."""

import datetime
import uuid
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from django.forms import Form
from django.http import QueryDict

from seedbank.members.models import Member


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

    `about` is the number of the record it belongs to, or the key of the entry that made that record
    without a signal too. `seen` is what the device showed of the plants when it was logged.
    `is_agreed` says that the grower has seen what has changed meanwhile and wants it written.
    """

    kind: str
    about: str
    key: uuid.UUID
    logged_at: datetime.datetime
    is_agreed: bool
    seen: Mapping[str, str]
    typed: QueryDict
    files: Any


Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Answer:
    """What is told the device; `stands` is what the record says now, where that is the trouble.

    `choices` are, by field, what could have been meant; `may_agree` says that the entry is written
    as it is if its grower says so.
    """

    outcome: str
    words: str
    address: str = ""
    number: str = ""
    errors: Mapping[str, str] = field(default_factory=dict)
    choices: Mapping[str, Choices] = field(default_factory=dict)
    stands: tuple[str, ...] = ()
    may_agree: bool = False

    def as_json(self) -> dict[str, Any]:
        return asdict(self)


class NotYet(Exception):  # noqa: N818  an answer, not an error of ours
    """What it belongs to is not written yet."""


class Stands(Exception):  # noqa: N818  an answer, not an error of ours
    """What the entry speaks of is no longer as the device showed it."""

    def __init__(self, words: str, stands: list[str], *, may_agree: bool = True) -> None:
        super().__init__(words)
        self.words, self.stands, self.may_agree = words, tuple(stands), may_agree


@dataclass(frozen=True)
class Told:
    """A record that is written, in words, and where it is to be read."""

    words: str
    address: str
    number: str


Prepared = tuple[Form, Callable[[], Any]]


def _nothing(entry: Entry, by: Member) -> list[str]:
    return []


@dataclass(frozen=True)
class Kind:
    """A kind of entry: its form and act, how a record of it is found again and told.

    `by_key` is the query for the record made under a key; `stands` says what is written now of what
    an entry is about.
    """

    prepare: Callable[[Entry, Member, datetime.date, datetime.datetime], Prepared]
    told: Callable[[Any], Told]
    by_key: Callable[[uuid.UUID, Member], Any] | None = None
    stands: Callable[[Entry, Member], list[str]] = _nothing


def key_in(about: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(about)
    except ValueError:
        return None


def number_about(entry: Entry, by: Member, made: Any) -> str:
    """Return the number of the record an entry is about, which an entry of `made` may have made."""
    key = key_in(entry.about)
    if key is None:
        return entry.about
    record = made(key, by)
    if record is None:
        raise NotYet
    return str(record.number)
