"""Writing tables: CSV by RFC 4180, in a stream, and XLSX; nothing in them runs as a formula."""

import codecs
import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal

from seedbank.formats.tables.cells import neutralised

Value = str | int | float | Decimal | date | datetime | bool | None

# What XML, and so a workbook, cannot hold.
NOT_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


def write_csv(
    rows: Iterable[Sequence[Value]], header: Sequence[str], *, bom: bool = False
) -> Iterator[bytes]:
    """Write headings and rows as UTF-8 with CRLF, a row at a time.

    `bom` puts a byte order mark first, without which some spreadsheets misread accents.
    """
    if bom:
        yield codecs.BOM_UTF8
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, lineterminator="\r\n")
    for row in _with_header(rows, header):
        writer.writerow([_csv_cell(value) for value in row])
        yield buffer.getvalue().encode()
        buffer.seek(0)
        buffer.truncate()


def write_xlsx(rows: Iterable[Sequence[Value]], header: Sequence[str], *, sheet: str) -> bytes:
    """Write headings and rows as one sheet of a workbook, headings bold and kept in sight."""
    import openpyxl
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font

    workbook = openpyxl.Workbook(write_only=True)
    page = workbook.create_sheet(sheet)
    page.freeze_panes = "A2"
    for number, row in enumerate(_with_header(rows, header)):
        cells = []
        for value in row:
            cell = WriteOnlyCell(page)
            cell.value = NOT_XML.sub("", value) if isinstance(value, str) else value
            if isinstance(value, str):
                # Else text that begins with an equals sign would become a formula.
                cell.data_type = "s"
            if number == 0:
                cell.font = Font(bold=True)
            cells.append(cell)
        page.append(cells)
    buffer = io.BytesIO()
    workbook.save(buffer)
    return buffer.getvalue()


def _with_header(
    rows: Iterable[Sequence[Value]], header: Sequence[str]
) -> Iterator[Sequence[Value]]:
    yield header
    for row in rows:
        if len(row) != len(header):
            raise ValueError(f"{len(row)} cells under {len(header)} headings")
        yield row


def _csv_cell(value: Value) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, str):
        return neutralised(value)
    return str(value)
