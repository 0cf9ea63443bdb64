"""Reading the first sheet of an XLSX workbook, values only.

Formulas are refused, not reckoned: what a workbook shows for them may be years old. Merged cells
are refused because the value of a merged block belongs to one cell only.
"""

import io
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

from crosses.calc.errors import BadInput
from seedbank.formats.tables.table import Limits, Table, build_table

PART_BYTES = 1_000_000

# What the packing, the XML and the reader of a file that is not what it says may raise.
DAMAGE = (
    AttributeError,
    EOFError,
    IndexError,
    KeyError,
    NotImplementedError,
    OSError,
    RuntimeError,
    SyntaxError,
    TypeError,
    ValueError,
    zipfile.BadZipFile,
    zlib.error,
)


def read_workbook(data: bytes, filename: str, limits: Limits) -> Table:
    """Read the first visible sheet."""
    try:
        archive = _checked_archive(data, filename, limits)
        return _first_sheet(data, filename, archive, limits)
    except BadInput:
        raise
    except DAMAGE:
        raise BadInput(f"{filename} is damaged, or not a workbook (.xlsx).") from None


def _first_sheet(data: bytes, filename: str, archive: zipfile.ZipFile, limits: Limits) -> Table:
    import openpyxl

    workbook = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=False)
    try:
        visible = [sheet for sheet in workbook.worksheets if sheet.sheet_state == "visible"]
        if not visible:
            raise BadInput(f"{filename} has no sheet to read.")
        sheet = visible[0]
        # Merged ranges are not read in read-only mode, and only the sheet knows its part's name.
        if _holds(archive, sheet._worksheet_path, b"<mergeCell "):  # noqa: SLF001
            raise BadInput(
                f"Sheet '{sheet.title}' has merged cells. Unmerge them: one value, one cell."
            )
        notes = [f"Sheet '{sheet.title}' was read."]
        unread = len(workbook.sheetnames) - 1
        if unread:
            notes.append(f"{unread} more sheet{' was' if unread == 1 else 's were'} left unread.")
        # The size a sheet states of itself can be wrong.
        sheet.reset_dimensions()
        return build_table(_rows(sheet, limits), notes, limits)
    finally:
        workbook.close()


def _checked_archive(data: bytes, filename: str, limits: Limits) -> zipfile.ZipFile:
    archive = zipfile.ZipFile(io.BytesIO(data))
    parts = archive.infolist()
    if "xl/workbook.xml" not in archive.namelist():
        raise BadInput(f"{filename} is not a workbook (.xlsx). Save it as .xlsx or CSV.")
    unpacked = sum(part.file_size for part in parts)
    packed = max(1, sum(part.compress_size for part in parts))
    if unpacked > limits.max_unpacked_bytes or unpacked / packed > limits.max_ratio:
        raise BadInput(f"{filename} unpacks to far more than a table needs. Save it as CSV.")
    for part in parts:
        # A workbook has no need of one, and entities in it can grow without end.
        if part.filename.endswith((".xml", ".rels")) and _holds(archive, part, b"<!DOCTYPE"):
            raise BadInput(f"{filename} is not a plain workbook. Save it as CSV.")
    return archive


def _holds(archive: zipfile.ZipFile, part: str | zipfile.ZipInfo, wanted: bytes) -> bool:
    tail = b""
    with archive.open(part) as stream:
        while piece := stream.read(PART_BYTES):
            if wanted in tail + piece:
                return True
            tail = piece[-len(wanted) :]
    return False


def _rows(sheet: Any, limits: Limits) -> Iterator[tuple[int, Sequence[str]]]:
    width = 0
    for number, cells in enumerate(sheet.iter_rows(), start=1):
        values = [_text(cell) for cell in cells]
        while values and not values[-1]:
            values.pop()
        if len(values) > limits.max_columns:
            raise BadInput(f"The file has more than {limits.max_columns} columns.")
        # Empty cells at the end of a row are not stored; a row is as wide as the headings.
        width = width or len(values)
        yield number, values + [""] * (width - len(values))


def _text(cell: Any) -> str:
    value = cell.value
    if value is None:
        return ""
    if cell.data_type == "f":
        raise BadInput(
            f"Cell {cell.coordinate} holds a formula. Copy the column and paste it as values."
        )
    if cell.data_type == "e":
        raise BadInput(f"Cell {cell.coordinate} holds an error ({value}).")
    return _value_as_text(value)


def _value_as_text(value: object) -> str:
    if isinstance(value, datetime) and value.time() == time():
        value = value.date()
    if isinstance(value, timedelta):
        value = value.total_seconds() / 86_400
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        # Fifteen digits are what a spreadsheet itself keeps.
        return f"{value:.15g}"
    if isinstance(value, datetime):
        return value.isoformat(sep=" ", timespec="minutes")
    if isinstance(value, date | time):
        return value.isoformat()
    return str(value)
