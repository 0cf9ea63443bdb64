"""Which column of a file is which, however its headings are spelled."""

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from crosses.calc.errors import BadInput

NEAR = 0.75


class AbsentColumn(BadInput):
    """A needed column is not among the headings; a person may say which heading it is.

    `headings` are those that were found, by their column.
    """

    def __init__(self, message: str, headings: Mapping[str, str]) -> None:
        super().__init__(message)
        self.headings = dict(headings)


class Shape(StrEnum):
    """How a cell is written, in the words in which it is told to whoever fills the table."""

    TEXT = "text"
    DATE = "a date, such as 2026-05-31"
    TIME = "a time of day, such as 14:30"
    WHOLE = "a whole number"
    DECIMAL = "a number, such as 0.41"
    YES_NO = "yes or no"
    CHOICE = "one of"
    SEVERAL = "several, with semicolons between them"


@dataclass(frozen=True, slots=True)
class Column:
    """A column the reader knows, by its own name and by what people call it.

    `help` says what it is for; `choices` go with the shape CHOICE, `minimum` with WHOLE.
    """

    name: str
    aliases: tuple[str, ...] = ()
    required: bool = False
    help: str = ""
    shape: Shape = Shape.TEXT
    choices: tuple[str, ...] = ()
    minimum: int = 0

    @property
    def form(self) -> str:
        """Say how a cell of it is written."""
        return f"{self.shape} {', '.join(self.choices)}" if self.choices else str(self.shape)


@dataclass(frozen=True, slots=True)
class ColumnMatch:
    """Heading of the file for each column found, and notes on headings nobody asked for."""

    headings: dict[str, str]
    notes: tuple[str, ...]

    def has(self, name: str) -> bool:
        return name in self.headings

    def cell(self, cells: dict[str, str], name: str) -> str:
        """Text of a row under a column; empty where the file has no such column."""
        heading = self.headings.get(name)
        return "" if heading is None else cells[heading]


def match_columns(
    header: Sequence[str], wanted: Sequence[Column], chosen: Mapping[str, str] | None = None
) -> ColumnMatch:
    """Find the wanted columns among the headings; case, spaces, hyphens and underscores aside.

    `chosen` gives the heading that a person named for a column, or nothing where the file has
    none; what it names that the file does not have is passed over.
    """
    by_key: dict[str, str] = {}
    for heading in header:
        key = _key(heading)
        if key in by_key:
            raise BadInput(f"Columns '{by_key[key]}' and '{heading}' are the same. Delete one.")
        by_key[key] = heading
    headings: dict[str, str] = {}
    chosen = {name: heading for name, heading in (chosen or {}).items() if heading in {"", *header}}
    for column in wanted:
        if column.name in chosen:
            if chosen[column.name]:
                headings[column.name] = chosen[column.name]
            continue
        found = [by_key[key] for key in _keys(column) if key in by_key]
        found = [heading for heading in found if heading not in chosen.values()]
        if len(found) > 1:
            raise BadInput(f"Columns '{found[0]}' and '{found[1]}' are the same. Delete one.")
        if found:
            headings[column.name] = found[0]
    unknown = [heading for heading in header if heading not in headings.values()]
    absent = [column for column in wanted if column.name not in headings]
    _refuse_absent(absent, unknown, headings)
    return ColumnMatch(headings, tuple(_notes(unknown, absent)))


def _key(text: str) -> str:
    return re.sub(r"[\s_\-]+", "", text).casefold()


def _keys(column: Column) -> dict[str, None]:
    """Give each spelling once, in order; an alias may differ from the name in spaces only."""
    return dict.fromkeys(_key(spelling) for spelling in (column.name, *column.aliases))


def _refuse_absent(
    absent: Iterable[Column], unknown: Sequence[str], headings: Mapping[str, str]
) -> None:
    faults: list[str] = []
    for column in absent:
        if not column.required:
            continue
        near = _nearest(_keys(column), {_key(heading): heading for heading in unknown})
        question = f"; did you mean '{near}'?" if near else "."
        faults.append(f"The file has no column '{column.name}'{question}")
    if faults:
        raise AbsentColumn(" ".join(faults), headings)


def _notes(unknown: Iterable[str], absent: Sequence[Column]) -> Iterable[str]:
    spellings = {key: column.name for column in absent for key in _keys(column)}
    for heading in unknown:
        near = _nearest([_key(heading)], spellings)
        question = f"; did you mean '{near}'?" if near else ""
        yield f"Column '{heading}' was not read{question}"


def _nearest(keys: Iterable[str], candidates: dict[str, str]) -> str:
    for key in keys:
        for match in difflib.get_close_matches(key, candidates, n=1, cutoff=NEAR):
            return candidates[match]
    return ""
