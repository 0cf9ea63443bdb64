"""One row of a table, read cell by cell in the words of the trade."""

import datetime
import re
import uuid
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from seedbank.formats.tables import (
    Column,
    ColumnMatch,
    Row,
    Shape,
    read_choice,
    read_date,
    read_decimal,
    read_relative_date,
    read_text,
    read_time,
    read_whole_number,
    read_yes_no,
)
from seedbank.members.models import Member

# In the demo's files {Y} is the last whole season that has its exchange behind it.
_SEASON = re.compile(r"\{Y([+-]\d)?\}")
_EXCHANGE_IS_OVER = (4, 20)

# Keys of files are names of people's own; this makes them keys of ours, the same each time.
_KEYS = uuid.UUID("6a0c5c1e-8a0b-5f0e-9d55-2b7f8a3c1d10")


def key_of(kind: str, *parts: object) -> uuid.UUID:
    """Return the client key of a record that a file calls by its own key."""
    return uuid.uuid5(_KEYS, "\x1f".join([kind, *map(str, parts)]))


@dataclass(frozen=True)
class Importing:
    """Who imports, when, and whether dates may be relative to today (the demo's files only)."""

    by: Member
    at: datetime.datetime
    today: datetime.date
    is_demo: bool = False

    def season(self) -> int:
        """Return the year of the last season whose exchange, sowing included, is over."""
        is_over = (self.today.month, self.today.day) >= _EXCHANGE_IS_OVER
        return self.today.year - (1 if is_over else 2)

    def moment(self, day: datetime.date | None) -> datetime.datetime:
        """Return noon of a past day as the moment something happened; without a day, now."""
        if day is None or day >= self.today:
            return self.at
        return datetime.datetime.combine(day, datetime.time(12), tzinfo=self.at.tzinfo)


class WrongCells(Exception):  # noqa: N818  what was typed is no error of ours
    """A row has wrong cells; which and why stands with its cells."""


@dataclass(frozen=True, slots=True)
class Cells:
    """The cells of one row; each reader names its column when it refuses."""

    row: Row
    match: ColumnMatch
    importing: Importing
    wrong: list[BadInput | Refused] = field(default_factory=list)

    def attempt(self, find: Callable[..., Any], *arguments: Any) -> Any:
        """Look up what a cell names; what is not found is noted, so that the next is told too.

        What it gives after a refusal is nothing, and is not used: `refuse_if_wrong` stands between
        the looking up and the act.
        """
        try:
            return find(*arguments)
        except (BadInput, Refused) as no:
            self.wrong.append(no)
            return None

    def refuse_if_wrong(self) -> None:
        if self.wrong:
            raise WrongCells

    def has(self, column: str) -> bool:
        """Tell whether the file has this column at all; one it has not says nothing."""
        return self.match.has(column)

    def said(self, facts: dict[str, Any]) -> dict[str, Any]:
        """Keep of facts, named as their columns, what the file has a column for."""
        return {name: value for name, value in facts.items() if self.has(name)}

    def check(self, column: Column) -> None:
        """Read a cell by the shape of its column, or refuse in words."""
        if not self.raw(column.name):
            if column.required:
                raise BadInput("This cell is empty; it is needed.", field=column.name)
            return
        match column.shape:
            case Shape.DATE:
                self.day(column.name)
            case Shape.TIME:
                self.time(column.name)
            case Shape.WHOLE:
                self.whole(column.name, minimum=column.minimum)
            case Shape.DECIMAL:
                self.decimal(column.name)
            case Shape.YES_NO:
                self.yes_no(column.name)
            case Shape.CHOICE:
                self.choice(column.name, column.choices, "")
            case _:
                self.text(column.name)

    def raw(self, column: str) -> str:
        text = self.match.cell(self.row.cells, column).strip()
        if not self.importing.is_demo or "{Y" not in text:
            return text
        year = self.importing.season()
        return _SEASON.sub(lambda found: str(year + int(found[1] or 0)), text)

    def text(self, column: str, default: str = "") -> str:
        return read_text(self.raw(column), column) if self.raw(column) else default

    def needed(self, column: str) -> str:
        text = self.text(column)
        if not text:
            raise BadInput("This cell is empty; it is needed.", field=column)
        return text

    def day(self, column: str) -> datetime.date | None:
        if not self.raw(column):
            return None
        if self.importing.is_demo:
            return read_relative_date(self.raw(column), column, self.importing.today)
        return read_date(self.raw(column), column)

    def needed_day(self, column: str) -> datetime.date:
        day = self.day(column)
        if day is None:
            raise BadInput("This cell is empty; a date is needed.", field=column)
        return day

    def time(self, column: str) -> datetime.time | None:
        return read_time(self.raw(column), column) if self.raw(column) else None

    def whole(self, column: str, *, minimum: int = 0, default: int | None = None) -> int | None:
        if not self.raw(column):
            return default
        return read_whole_number(self.raw(column), column, minimum=minimum)

    def needed_whole(self, column: str, *, minimum: int = 0) -> int:
        number = self.whole(column, minimum=minimum)
        if number is None:
            raise BadInput("This cell is empty; a number is needed.", field=column)
        return number

    def decimal(self, column: str) -> Decimal | None:
        return read_decimal(self.raw(column), column) if self.raw(column) else None

    def yes_no(self, column: str, *, default: bool = False) -> bool:
        return read_yes_no(self.raw(column), column) if self.raw(column) else default

    def choice(self, column: str, choices: Collection[str], default: str) -> str:
        return read_choice(self.raw(column), column, choices) if self.raw(column) else default

    def listed(self, column: str) -> list[str]:
        """Read several values of one cell, set apart by semicolons."""
        return [part.strip() for part in self.text(column).split(";") if part.strip()]
