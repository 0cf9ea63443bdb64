"""Reading a file somebody made: which kind it is, its letters, its separator, its rows."""

import codecs
import csv
import io
from collections.abc import Iterator

from crosses.calc.errors import BadInput
from seedbank.formats.tables.table import DEFAULT_LIMITS, Limits, Table, build_table
from seedbank.formats.tables.workbook import read_workbook

SEPARATORS = (",", ";", "\t")
SEPARATOR_NAMES = {",": "commas", ";": "semicolons", "\t": "tabs"}

ZIP_START = b"PK\x03\x04"
OLD_WORKBOOK_START = b"\xd0\xcf\x11\xe0"


def read_table(data: bytes, filename: str, *, limits: Limits = DEFAULT_LIMITS) -> Table:
    """Read a CSV file or the first sheet of a workbook; what is wrong with the whole is refused."""
    if len(data) > limits.max_bytes:
        raise BadInput(
            f"{filename} is larger than {limits.max_bytes // 1_000_000} MB. Bring it in by parts."
        )
    if not data.strip():
        raise BadInput(f"{filename} is empty.")
    if data.startswith(OLD_WORKBOOK_START):
        raise BadInput(
            f"{filename} is an old workbook (.xls), or is locked by a password. Save it as .xlsx "
            "or CSV, without a password."
        )
    if data.startswith(ZIP_START):
        return read_workbook(data, filename, limits)
    text, notes = _decoded(data, filename)
    separator, text = _separator(text)
    if separator != ",":
        notes.append(f"Cells are separated by {SEPARATOR_NAMES[separator]}.")
    return build_table(_csv_rows(text, separator), notes, limits)


def _decoded(data: bytes, filename: str) -> tuple[str, list[str]]:
    encoding = (
        "utf-16" if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) else "utf-8-sig"
    )
    notes: list[str] = []
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError:
        text = _decoded_as_western(data, filename)
        notes.append(
            "The file is not UTF-8; it was read as Western European (Windows-1252). Check the "
            "accents, and the multiplication signs."
        )
    if "\0" in text:
        raise BadInput(f"{filename} is not a text file. Save it as CSV (UTF-8) or .xlsx.")
    return text, notes


def _decoded_as_western(data: bytes, filename: str) -> str:
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError:
        raise BadInput(
            f"The letters of {filename} cannot be read. Save it as CSV (UTF-8)."
        ) from None


def _separator(text: str) -> tuple[str, str]:
    """Find the separator of the heading line: a `sep=` line before it, else the most frequent."""
    first, _, rest = text.partition("\n")
    declared = first.strip("\r").casefold()
    if declared.startswith("sep=") and declared[4:] in SEPARATORS:
        return declared[4:], rest
    heading = next((line for line in text.splitlines() if line.strip()), "")
    # Every other piece between double quotes is outside them.
    outside = "".join(heading.split('"')[::2])
    return max(SEPARATORS, key=outside.count), text


def _csv_rows(text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number = 0
    try:
        for number, cells in enumerate(reader, start=1):
            yield number, cells
    except csv.Error:
        raise BadInput(
            f"Row {number + 1} cannot be read: a double quote is opened and never closed, or "
            "stands inside a cell that does not begin with one."
        ) from None
