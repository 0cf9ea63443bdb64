"""What a cell says: dates, numbers, yes and no, choices, and text that is not a formula.

Each function refuses what it cannot read with a sentence for the person who typed it, at the column
it concerns. Ambiguous spellings (3/4/26, 1,200, 0,41) are refused rather than guessed.
"""

import re
from collections.abc import Collection
from datetime import date, time, timedelta
from decimal import Decimal

from crosses.calc.errors import BadInput

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
PLAIN_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?", re.ASCII)
TELEPHONE = re.compile(r"\+[0-9][0-9 ()]*", re.ASCII)
ISO_TIME = re.compile(r"[0-9]{1,2}:[0-9]{2}(:[0-9]{2})?", re.ASCII)
ISO_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
RELATIVE_DATE = re.compile(r"([+-][0-9]{1,4})([dw])", re.ASCII)
WHOLE_NUMBER = re.compile(r"[+-]?[0-9]{1,15}", re.ASCII)
DECIMAL = re.compile(r"[+-]?[0-9]{1,15}(\.[0-9]{1,15})?", re.ASCII)

YES = frozenset({"yes", "y", "true", "1"})
NO = frozenset({"no", "n", "false", "0"})


def looks_like_formula(value: str) -> bool:
    """Tell whether a spreadsheet could run this; plain numbers and telephone numbers are safe."""
    if not value.startswith(FORMULA_STARTS):
        return False
    return not (PLAIN_NUMBER.fullmatch(value) or TELEPHONE.fullmatch(value))


def neutralised(value: str) -> str:
    """Put an apostrophe before text that a spreadsheet could run, so that it is shown instead."""
    if value.startswith(FORMULA_STARTS) and not PLAIN_NUMBER.fullmatch(value):
        return f"'{value}"
    return value


def read_text(text: str, column: str) -> str:
    """Read a text cell; the apostrophe that `neutralised` put there is taken off again."""
    if text.startswith("'") and text[1:].startswith(FORMULA_STARTS):
        return text[1:]
    if looks_like_formula(text):
        raise BadInput(
            f"'{text}' looks like a formula. Put an apostrophe before it if it is text.",
            field=column,
        )
    return text


def read_date(text: str, column: str) -> date:
    """Read a date written as year-month-day."""
    if not ISO_DATE.fullmatch(text):
        raise BadInput(
            f"'{text}' is not a date as year-month-day, such as 2026-05-31.", field=column
        )
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(f"There is no day {text}.", field=column) from None


def read_time(text: str, column: str) -> time:
    """Read a time of day written with the hours of a day of 24."""
    if not ISO_TIME.fullmatch(text):
        raise BadInput(f"'{text}' is not a time of day, such as 14:30.", field=column)
    try:
        return time.fromisoformat(text.rjust(len(text) + (text[1] == ":"), "0"))
    except ValueError:
        raise BadInput(f"There is no time {text}.", field=column) from None


def read_relative_date(text: str, column: str, today: date) -> date:
    """Read a demo file's date: `-12d` is twelve days before today, `+3w` in three weeks."""
    found = RELATIVE_DATE.fullmatch(text)
    if found is None:
        return read_date(text, column)
    return today + timedelta(days=int(found[1]) * (7 if found[2] == "w" else 1))


def read_whole_number(
    text: str, column: str, *, minimum: int | None = None, maximum: int | None = None
) -> int:
    """Read a whole number, within limits if given."""
    if not WHOLE_NUMBER.fullmatch(text):
        raise BadInput(
            f"'{text}' is not a whole number. Write digits only, such as 1200.", field=column
        )
    number = int(text)
    if minimum is not None and number < minimum:
        raise BadInput(f"{number} is too small: {minimum} or more.", field=column)
    if maximum is not None and number > maximum:
        raise BadInput(f"{number} is too large: {maximum} or less.", field=column)
    return number


def read_decimal(
    text: str, column: str, *, minimum: Decimal | None = None, maximum: Decimal | None = None
) -> Decimal:
    """Read a number with a full stop before the decimals, within limits if given."""
    if not DECIMAL.fullmatch(text):
        raise BadInput(
            f"'{text}' is not a number. Write a full stop before the decimals, such as 0.41.",
            field=column,
        )
    number = Decimal(text)
    if minimum is not None and number < minimum:
        raise BadInput(f"{text} is too small: {minimum} or more.", field=column)
    if maximum is not None and number > maximum:
        raise BadInput(f"{text} is too large: {maximum} or less.", field=column)
    return number


def read_yes_no(text: str, column: str) -> bool:
    """Read yes or no."""
    answer = text.casefold()
    if answer in YES:
        return True
    if answer in NO:
        return False
    raise BadInput(f"'{text}' is neither yes nor no.", field=column)


def read_choice(text: str, column: str, choices: Collection[str]) -> str:
    """Read one of the choices, however it is capitalised, and give it as the choices spell it."""
    by_key = {choice.casefold(): choice for choice in choices}
    found = by_key.get(text.casefold())
    if found is None:
        raise BadInput(f"'{text}' is not one of: {', '.join(choices)}.", field=column)
    return found
