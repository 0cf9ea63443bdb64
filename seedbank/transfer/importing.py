"""Carry a table out row by row: all of it, or nothing with every reason."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby

from django.db import transaction

from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from seedbank.formats.tables import Column, Table, match_columns, read_table
from seedbank.members.models import Member
from seedbank.transfer.cells import Cells, Importing

NEW = "new"
SAME = "same"
CHANGED = "changed"


class BroughtBy(StrEnum):
    """Who may bring a table in."""

    MEMBER = "a member"
    KEEPER = "a seed keeper"
    ADMINISTRATOR = "an administrator"


Act = Callable[[Sequence[Cells]], str]


@dataclass(frozen=True)
class Kind:
    """A kind of table: its columns, who may bring it in, and the act for a row.

    With `grouped_by`, rows that agree in that column follow each other and are one act.
    `told_apart_by` names the columns that no two rows (or groups) of a file may share.
    `act` returns new, same or changed, or refuses.
    """

    name: str
    title: str
    columns: tuple[Column, ...]
    act: Act
    brought_by: BroughtBy = BroughtBy.KEEPER
    grouped_by: str = ""
    told_apart_by: tuple[str, ...] = ()

    def may_be_brought_by(self, member: Member) -> bool:
        if self.brought_by is BroughtBy.ADMINISTRATOR:
            return member.is_staff
        return member.is_keeper or self.brought_by is BroughtBy.MEMBER


@dataclass(frozen=True)
class CellProblem:
    """What is wrong, where, and what was typed there."""

    row_number: int
    column: str
    typed: str
    message: str


@dataclass(frozen=True)
class RowVerdict:
    row_number: int
    verdict: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class ImportReport:
    """What a table would do or has done; `is_saved` says which."""

    kind: Kind
    header: tuple[str, ...]
    verdicts: tuple[RowVerdict, ...]
    problems: tuple[CellProblem, ...]
    notes: tuple[str, ...]
    is_saved: bool

    def count(self, verdict: str) -> int:
        return sum(row.verdict == verdict for row in self.verdicts)

    @property
    def sentence(self) -> str:
        if self.problems:
            rows = len({problem.row_number for problem in self.problems})
            return f"{rows} row{'' if rows == 1 else 's'} cannot be read. Nothing was saved."
        done = "are in" if self.is_saved else "would come in"
        parts = [f"{self.count(NEW)} rows {done}"]
        if self.count(CHANGED):
            parts.append(f"{self.count(CHANGED)} changed")
        if self.count(SAME):
            parts.append(f"{self.count(SAME)} are here already and stay as they are")
        return ", ".join(parts) + "."


class _TakeBack(Exception):  # noqa: N818  never leaves this file
    """Carries the report out of a transaction that must not stay."""


def import_table(
    kind: Kind, data: bytes, filename: str, importing: Importing, *, is_trial: bool
) -> ImportReport:
    """Read a file and carry it out; a trial, or one wrong row, leaves everything as it was.

    Raises BadInput where the file as a whole cannot be read, or lacks a column.
    """
    table = read_table(data, filename)
    match = match_columns(table.header, kind.columns)
    rows = [Cells(row, match, importing) for row in table.rows]
    problems = [CellProblem(each.row_number, "", "", each.message) for each in table.problems]
    verdicts: list[RowVerdict] = []
    try:
        with transaction.atomic():
            seen: dict[tuple[str, ...], int] = {}
            for group in _groups(kind, rows):
                verdict, problem = _carried_out(kind, group)
                problem = problem or _repeated(kind, group[0], seen)
                problems += [problem] if problem else []
                verdicts += [
                    RowVerdict(cells.row.number, verdict, tuple(cells.row.cells.values()))
                    for cells in group
                ]
            if is_trial or problems:
                raise _TakeBack
    except _TakeBack:
        pass
    return ImportReport(
        kind=kind,
        header=table.header,
        verdicts=tuple(verdicts),
        problems=tuple(sorted(problems, key=lambda problem: problem.row_number)),
        notes=(*table.notes, *match.notes, *_nothing_in(table)),
        is_saved=not (is_trial or problems),
    )


def _groups(kind: Kind, rows: list[Cells]) -> Iterator[list[Cells]]:
    if not kind.grouped_by:
        yield from ([cells] for cells in rows)
        return
    for _key, group in groupby(rows, key=lambda cells: cells.raw(kind.grouped_by)):
        yield list(group)


def _repeated(kind: Kind, cells: Cells, seen: dict[tuple[str, ...], int]) -> CellProblem | None:
    """Two rows of one name: the second would be passed over, or undo the first."""
    name = tuple(cells.raw(column) for column in kind.told_apart_by)
    if not any(name):
        return None
    first = seen.setdefault(name, cells.row.number)
    if first == cells.row.number:
        return None
    column = kind.told_apart_by[0]
    words = f"Row {first} has the same {column.replace('_', ' ')} already."
    if kind.grouped_by:
        words += " Rows that belong together stand one under the other."
    return CellProblem(cells.row.number, column, cells.raw(column), words)


def _carried_out(kind: Kind, group: list[Cells]) -> tuple[str, CellProblem | None]:
    """Carry out one row or group by itself, so that a wrong one does not hide the next."""
    try:
        with transaction.atomic():
            return kind.act(group), None
    except (BadInput, Refused) as no:
        columns = {column.name for column in kind.columns}
        column = no.field if no.field in columns else ""
        cells = group[0]
        return "wrong", CellProblem(
            cells.row.number, column, cells.raw(column) if column else "", no.message
        )


def _nothing_in(table: Table) -> tuple[str, ...]:
    return () if table.rows else ("The file has a heading and no rows.",)
