"""What a kind of table is, and what carrying out a row of it came to."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import Model

from seedbank.formats.tables import Column
from seedbank.members.models import Member
from seedbank.transfer.cells import Cells

NEW = "new"
SAME = "same"
CHANGED = "changed"
WRONG = "wrong"


class BroughtBy(StrEnum):
    """Who may bring a table in."""

    MEMBER = "a member"
    KEEPER = "a seed keeper"
    ADMINISTRATOR = "an administrator"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a row came to: the records it made, or the one it changed with what that said before."""

    verdict: str
    records: tuple[Model, ...] = ()
    before: Mapping[str, Any] = field(default_factory=dict)


NOTHING_NEW = Outcome(SAME)


def made(*records: Model) -> Outcome:
    return Outcome(NEW, records)


def changed(record: Model, before: Mapping[str, Any]) -> Outcome:
    return Outcome(CHANGED, (record,), before)


Group = Sequence[Cells]
Act = Callable[[Group], Outcome]
ManyAct = Callable[[Sequence[Group]], list[Outcome | None]]


@dataclass(frozen=True)
class Kind:
    """A kind of table: its columns, who may bring it in, and the act for a row.

    With `grouped_by`, rows that agree in that column follow each other and are one act.
    `told_apart_by` names the columns that no two rows (or groups) of a file may share.
    `act` carries a row out, or refuses. `many` carries out many at once and leaves to `act`, by
    None, every row that is out of the ordinary.
    """

    name: str
    title: str
    columns: tuple[Column, ...]
    act: Act
    brought_by: BroughtBy = BroughtBy.KEEPER
    grouped_by: str = ""
    told_apart_by: tuple[str, ...] = ()
    many: ManyAct | None = None

    def may_be_brought_by(self, member: Member) -> bool:
        if self.brought_by is BroughtBy.ADMINISTRATOR:
            return member.is_staff
        return member.is_keeper or self.brought_by is BroughtBy.MEMBER

    def refuse_unless_by(self, member: Member) -> None:
        if not self.may_be_brought_by(member):
            raise PermissionDenied(f"{self.brought_by.capitalize()} brings these in.")

    @property
    def needed(self) -> list[str]:
        return [column.name for column in self.columns if column.required]
