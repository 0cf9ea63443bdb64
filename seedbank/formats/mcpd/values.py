"""Dates of which parts are unknown, and coordinates of which digits are missing."""

import calendar
import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from crosses.calc.errors import BadInput

_DATE = re.compile(r"(?P<year>[0-9]{4})(?P<month>[0-9]{2}|--)(?P<day>[0-9]{2}|--)", re.ASCII)
_UNKNOWN = {"--", "00"}
_DEGREES = {
    2: re.compile(r"([0-9]{2})([0-9]{2}|--)([0-9]{2}|--)([NS])", re.ASCII),
    3: re.compile(r"([0-9]{3})([0-9]{2}|--)([0-9]{2}|--)([EW])", re.ASCII),
}


@dataclass(frozen=True, slots=True)
class PartialDate:
    """A date whose day, or day and month, may be unknown."""

    year: int
    month: int | None = None
    day: int | None = None

    @classmethod
    def of(cls, day: date) -> "PartialDate":
        return cls(day.year, day.month, day.day)

    def __str__(self) -> str:
        """Write YYYYMMDD with a hyphen for each digit that is not known."""
        month = "--" if self.month is None else f"{self.month:02d}"
        day = "--" if self.day is None else f"{self.day:02d}"
        return f"{self.year:04d}{month}{day}"

    def whole(self) -> date | None:
        """Return the day, if all of it is known."""
        if self.month is None or self.day is None:
            return None
        return date(self.year, self.month, self.day)


def read_partial_date(text: str, field: str) -> PartialDate:
    """Read YYYYMMDD; hyphens or zeros stand for a month or a day that is not known."""
    found = _DATE.fullmatch(text)
    if found is None:
        raise BadInput(
            f"'{text}' is no date: write YYYYMMDD, and -- for a month or day that is not known, "
            "such as 200803--.",
            field=field,
        )
    year = int(found["year"])
    month = None if found["month"] in _UNKNOWN else int(found["month"])
    day = None if found["day"] in _UNKNOWN else int(found["day"])
    if month is None and day is not None:
        raise BadInput(f"'{text}' has a day and no month.", field=field)
    if year == 0 or (month is not None and month > 12):
        raise BadInput(f"There is no day {text}.", field=field)
    if month is not None and day is not None and day > calendar.monthrange(year, month)[1]:
        raise BadInput(f"There is no day {text}.", field=field)
    return PartialDate(year, month, day)


def read_degrees(text: str, field: str, *, digits: int) -> Decimal:
    """Read DDMMSSH (two `digits` of degrees) or DDDMMSSH as decimal degrees, N and E positive.

    Missing minutes or seconds, written as hyphens, count as nought.
    """
    found = _DEGREES[digits].fullmatch(text)
    form = "DDMMSSH, such as 103020S" if digits == 2 else "DDDMMSSH, such as 0762510W"
    if found is None or (found[2] == "--" and found[3] != "--"):
        raise BadInput(
            f"'{text}' is not written as {form}; -- stands for what is not known.", field=field
        )
    minutes, seconds = (0 if part == "--" else int(part) for part in found.group(2, 3))
    degrees = Decimal(int(found[1])) + Decimal(minutes) / 60 + Decimal(seconds) / 3600
    if minutes > 59 or seconds > 59 or degrees > (90 if digits == 2 else 180):
        raise BadInput(f"There is no place at {text}.", field=field)
    return -degrees if found[4] in "SW" else degrees
