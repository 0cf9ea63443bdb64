"""A table as read: headings, rows of text, and what went wrong."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from crosses.calc.errors import BadInput


@dataclass(frozen=True, slots=True)
class Limits:
    """What a file may weigh before it is refused unread.

    `max_unpacked_bytes` and `max_ratio` are for workbooks, which are packed: a small file can
    unpack to more than the machine holds.
    """

    max_bytes: int = 30_000_000
    max_rows: int = 100_000
    max_columns: int = 200
    max_unpacked_bytes: int = 200_000_000
    max_ratio: int = 100


DEFAULT_LIMITS = Limits()


@dataclass(frozen=True, slots=True)
class Row:
    """One row: the number a spreadsheet shows beside it, and its cells by heading."""

    number: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class Problem:
    """A row that could not be read, and why."""

    row_number: int
    message: str


@dataclass(frozen=True, slots=True)
class Table:
    """A file as read.

    `notes` say what was assumed (letters, separator, sheet); `problems` name the rows left out.
    """

    header: tuple[str, ...]
    rows: tuple[Row, ...]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


def build_table(
    numbered_rows: Iterable[tuple[int, Sequence[str]]], notes: Sequence[str], limits: Limits
) -> Table:
    """Take the first row that is not blank as headings and the rest as rows under them."""
    filled = _filled(numbered_rows)
    first = next(filled, None)
    if first is None:
        raise BadInput("The file is empty.")
    header = _headings(first[1], limits)
    rows: list[Row] = []
    problems: list[Problem] = []
    for number, cells in filled:
        if len(rows) + len(problems) >= limits.max_rows:
            raise BadInput(
                f"The file has more than {limits.max_rows} rows. Split it and bring it in by parts."
            )
        problem = _misfit(cells, header)
        if problem:
            problems.append(Problem(number, f"Row {number} {problem}"))
            continue
        rows.append(Row(number, dict(zip(header, cells, strict=False))))
    return Table(header, tuple(rows), tuple(problems), tuple(notes))


def _filled(
    numbered_rows: Iterable[tuple[int, Sequence[str]]],
) -> Iterator[tuple[int, list[str]]]:
    for number, cells in numbered_rows:
        stripped = [cell.strip() for cell in cells]
        if any(stripped):
            yield number, stripped


def _headings(cells: list[str], limits: Limits) -> tuple[str, ...]:
    while cells and not cells[-1]:
        cells = cells[:-1]
    if len(cells) > limits.max_columns:
        raise BadInput(f"The file has more than {limits.max_columns} columns.")
    seen: set[str] = set()
    for position, heading in enumerate(cells, start=1):
        if not heading:
            raise BadInput(f"Column {position} has no heading.")
        if heading.casefold() in seen:
            raise BadInput(f"Two columns are called '{heading}'. Rename or delete one.")
        seen.add(heading.casefold())
    return tuple(cells)


def _misfit(cells: list[str], header: tuple[str, ...]) -> str:
    """Say how a row does not fit under the headings; empty cells beyond them do no harm."""
    if len(cells) < len(header):
        return (
            f"has {len(cells)} cells under {len(header)} headings. A separator is missing, or the "
            "row was cut short."
        )
    if any(cells[len(header) :]):
        return (
            f"has {len(cells)} cells under {len(header)} headings. A cell with a separator inside "
            "must stand in double quotes."
        )
    return ""
