"""Carry a table out row by row: all of it, or nothing with every reason."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, islice

from django.db import IntegrityError, transaction

from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from seedbank.formats.tables import Table, match_columns, read_table
from seedbank.transfer.cells import Cells, Importing, WrongCells
from seedbank.transfer.kind import (
    CHANGED,
    NEW,
    SAME,
    WRONG,
    BroughtBy,
    Group,
    Kind,
    Outcome,
    changed,
    made,
)

__all__ = [
    "CHANGED",
    "NEW",
    "SAME",
    "WRONG",
    "BroughtBy",
    "CellProblem",
    "ImportReport",
    "Kind",
    "Outcome",
    "RowVerdict",
    "changed",
    "import_table",
    "made",
]

GROUPS_AT_ONCE = 500
Tell = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class CellProblem:
    """What is wrong, where, and what was typed there."""

    row_number: int
    column: str
    typed: str
    message: str


@dataclass(frozen=True, slots=True)
class RowVerdict:
    row_number: int
    verdict: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class ImportReport:
    """What a table would do or has done; `is_saved` says which."""

    kind: Kind
    header: tuple[str, ...]
    headings: Mapping[str, str]
    verdicts: tuple[RowVerdict, ...]
    problems: tuple[CellProblem, ...]
    notes: tuple[str, ...]
    is_saved: bool
    outcomes: tuple[Outcome, ...] = ()

    def count(self, verdict: str) -> int:
        return sum(row.verdict == verdict for row in self.verdicts)

    @property
    def sentence(self) -> str:
        if self.problems:
            rows = len({problem.row_number for problem in self.problems})
            return f"{rows} row{'' if rows == 1 else 's'} cannot be read. Nothing was saved."
        return what_it_came_to(
            self.count(NEW), self.count(CHANGED), self.count(SAME), is_saved=self.is_saved
        )


def what_it_came_to(new: int, changed_rows: int, same: int, *, is_saved: bool) -> str:
    """Say in a sentence what a table brings, or brought."""
    done = "are in" if is_saved else "would come in"
    parts = [f"{new} rows {done}"]
    if changed_rows:
        parts.append(f"{changed_rows} changed")
    if same:
        parts.append(f"{same} are here already and stay as they are")
    return ", ".join(parts) + "."


class _TakeBack(Exception):  # noqa: N818  never leaves this file
    """Carries the report out of a transaction that must not stay."""


def import_table(
    kind: Kind,
    data: bytes,
    filename: str,
    importing: Importing,
    *,
    is_trial: bool,
    chosen: Mapping[str, str] | None = None,
    tell: Tell | None = None,
    at_end: Callable[["ImportReport"], None] | None = None,
) -> ImportReport:
    """Read a file and carry it out; a trial, or one wrong row, leaves everything as it was.

    `chosen` names the heading of a column where a person has said it; `tell` is told how far it
    is; `at_end` is called with what was done, inside the transaction that did it.
    Raises BadInput where the file as a whole cannot be read, or lacks a column.
    """
    table = read_table(data, filename)
    match = match_columns(table.header, kind.columns, chosen)
    rows = [Cells(row, match, importing) for row in table.rows]
    steps = 2 * len(rows)
    problems = [CellProblem(each.row_number, "", "", each.message) for each in table.problems]
    # What can be seen without the database is looked at first, so that the lock on it is short.
    for done, cells in enumerate(rows, start=1):
        problems += _wrong_cells(kind, cells)
        if tell and done % GROUPS_AT_ONCE == 0:
            tell(done, steps)
    problems += _repeated(kind, rows)
    wrong = {problem.row_number for problem in problems}
    verdicts: list[RowVerdict] = []
    outcomes: list[Outcome] = []

    def report(*, is_saved: bool) -> ImportReport:
        return ImportReport(
            kind=kind,
            header=table.header,
            headings=match.headings,
            verdicts=tuple(verdicts),
            problems=tuple(sorted(problems, key=lambda problem: problem.row_number)),
            notes=(*table.notes, *match.notes, *_nothing_in(table)),
            is_saved=is_saved,
            outcomes=tuple(outcomes),
        )

    try:
        with transaction.atomic():
            groups = _groups(kind, rows)
            while batch := list(islice(groups, GROUPS_AT_ONCE)):
                for group, outcome in zip(batch, _carried_out(kind, batch, wrong), strict=True):
                    problems += _problems_of(kind, group)
                    outcomes += [outcome] if outcome.records else []
                    verdicts += [_verdict(cells, outcome) for cells in group]
                if tell:
                    tell(len(rows) + len(verdicts), steps)
            if is_trial or problems:
                raise _TakeBack
            saved = report(is_saved=True)
            if at_end:
                at_end(saved)
            return saved
    except _TakeBack:
        return report(is_saved=False)


def _verdict(cells: Cells, outcome: Outcome) -> RowVerdict:
    return RowVerdict(cells.row.number, outcome.verdict, tuple(cells.row.cells.values()))


def _groups(kind: Kind, rows: list[Cells]) -> Iterator[list[Cells]]:
    if not kind.grouped_by:
        yield from ([cells] for cells in rows)
        return
    for _key, group in groupby(rows, key=lambda cells: cells.raw(kind.grouped_by)):
        yield list(group)


def _wrong_cells(kind: Kind, cells: Cells) -> list[CellProblem]:
    """Read every cell of a row by itself, so that one wrong cell does not hide the next."""
    problems = []
    for column in kind.columns:
        try:
            cells.check(column)
        except BadInput as wrong:
            problems.append(
                CellProblem(cells.row.number, column.name, cells.raw(column.name), wrong.message)
            )
    return problems


def _repeated(kind: Kind, rows: list[Cells]) -> list[CellProblem]:
    """Tell the rows of one name: the second would be passed over, or undo the first."""
    seen: dict[tuple[str, ...], int] = {}
    problems = []
    for group in _groups(kind, rows):
        cells = group[0]
        name = tuple(cells.raw(column) for column in kind.told_apart_by)
        if not any(name):
            continue
        first = seen.setdefault(name, cells.row.number)
        if first != cells.row.number:
            column = kind.told_apart_by[0]
            same = [each.replace("_", " ") for each in kind.told_apart_by if cells.raw(each)]
            words = f"Row {first} has the same {' and '.join(same)} already."
            if kind.grouped_by:
                words += " Rows that belong together stand one under the other."
            problems.append(CellProblem(cells.row.number, column, cells.raw(column), words))
    return problems


def _carried_out(kind: Kind, batch: Sequence[Group], wrong: set[int]) -> list[Outcome]:
    """Carry out a batch: at once as far as it goes, the others one by one."""
    outcomes: list[Outcome | None] = [
        Outcome(WRONG) if any(cells.row.number in wrong for cells in group) else None
        for group in batch
    ]
    open_groups = [group for group, known in zip(batch, outcomes, strict=True) if known is None]
    at_once = iter(_many(kind, open_groups))
    return [
        known or next(at_once) or _one(kind, group)
        for group, known in zip(batch, outcomes, strict=True)
    ]


def _many(kind: Kind, groups: Sequence[Group]) -> list[Outcome | None]:
    """Carry out many groups at once; where the database says no to one, none of them."""
    if kind.many is None or not groups:
        return [None] * len(groups)
    try:
        with transaction.atomic():
            return kind.many(groups)
    except (BadInput, Refused, IntegrityError):
        return [None] * len(groups)


def _one(kind: Kind, group: Group) -> Outcome:
    """Carry out one row or group by itself, so that a wrong one does not hide the next."""
    try:
        with transaction.atomic():
            outcome = kind.act(group)
            for cells in group:
                cells.refuse_if_wrong()
            return outcome
    except WrongCells:
        return Outcome(WRONG)
    except (BadInput, Refused) as no:
        group[0].wrong.append(no)
        return Outcome(WRONG)


def _problems_of(kind: Kind, group: Group) -> list[CellProblem]:
    columns = {column.name for column in kind.columns}
    problems = []
    for cells in group:
        for no in cells.wrong:
            column = no.field if no.field in columns else ""
            typed = cells.raw(column) if column else ""
            problems.append(CellProblem(cells.row.number, column, typed, no.message))
    return problems


def _nothing_in(table: Table) -> tuple[str, ...]:
    return () if table.rows else ("The file has a heading and no rows.",)
