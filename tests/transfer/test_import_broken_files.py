"""Files as they come: odd letters, odd separators, odd workbooks, and files that mean harm."""

import datetime
import io
import zipfile

import pytest
from openpyxl import Workbook

from crosses.calc.errors import BadInput
from crosses.models import Plant
from tests.transfer.conftest import bring

pytestmark = pytest.mark.django_db

PLANTS = "label,name,acquired_on\nQS,Primula × polyantha 'Zoë',2025-03-01\n"


def workbook(*rows, change=lambda book: None):
    book = Workbook()
    for row in rows:
        book.active.append(row)
    change(book)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


@pytest.mark.parametrize(
    ("data", "note"),
    [
        (PLANTS.encode("utf-8"), ""),
        (PLANTS.encode("utf-8-sig"), ""),
        (PLANTS.encode("utf-16"), ""),
        (PLANTS.encode("cp1252"), "Windows-1252"),
        (PLANTS.replace(",", ";").encode(), "semicolons"),
        (PLANTS.replace(",", "\t").encode(), "tabs"),
        (("sep=;\n" + PLANTS.replace(",", ";")).encode(), "semicolons"),
        (PLANTS.replace("\n", "\r\n").encode(), ""),
        (PLANTS.replace("\n", "\r").encode(), ""),
        (PLANTS.encode() + b",,\r\n\r\n", ""),
    ],
    ids=["utf-8", "mark", "utf-16", "western", "semicolons", "tabs", "sep", "crlf", "cr", "blank"],
)
def test_a_table_is_read_however_its_letters_and_cells_were_written(data, note, tansy):
    report = bring("plants", data, tansy)
    assert report.is_saved, report.problems
    assert Plant.objects.get().name_text == "Primula × polyantha 'Zoë'"
    assert note in " ".join(report.notes)


def test_a_date_of_a_spreadsheet_is_its_day(tansy):
    """Both systems by which spreadsheets count days: from 1900 and from 1904."""
    from openpyxl.utils.datetime import CALENDAR_MAC_1904

    day = datetime.date(2025, 3, 1)
    for label, epoch in (("A", None), ("B", CALENDAR_MAC_1904)):

        def count_from(book, epoch=epoch):
            if epoch:
                book.epoch = epoch

        data = workbook(
            ["label", "name", "acquired_on"], [label, "Primula veris", day], change=count_from
        )
        assert bring("plants", data, tansy).is_saved
        assert Plant.objects.get(own_label=label).acquired_on == day


def test_a_bare_number_where_a_date_belongs_is_told_and_not_guessed(tansy):
    data = workbook(["label", "name", "acquired_on"], ["A", "Primula veris", 45717])
    (problem,) = bring("plants", data, tansy).problems
    assert (problem.column, problem.typed) == ("acquired_on", "45717")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda book: book.active.merge_cells("A2:A3"), "merged cells"),
        (lambda book: book.active.__setitem__("B2", "=1+1"), "holds a formula"),
        (lambda book: book.active.__setitem__("B2", "#N/A"), "holds an error"),
    ],
)
def test_a_workbook_that_says_what_no_cell_says_is_refused(change, words, tansy):
    data = workbook(["label", "name"], ["A", "Primula veris"], ["B", "P. elatior"], change=change)
    with pytest.raises(BadInput, match=words):
        bring("plants", data, tansy)


@pytest.mark.parametrize("text", ["=HYPERLINK(1)", "+cmd|x", "@SUM(A1)", "-2+3"])
def test_text_that_a_spreadsheet_would_run_is_told_at_its_cell(text, tansy):
    (problem,) = bring("plants", f"label,name\nA,{text}\n", tansy).problems
    assert (problem.column, problem.typed) == ("name", text)
    assert "looks like a formula" in problem.message


def test_a_workbook_that_unpacks_without_end_is_refused(tansy):
    data = io.BytesIO(workbook(["label", "name"], ["A", "Primula veris"]))
    with zipfile.ZipFile(data, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/media/nothing.bin", b"\0" * 60_000_000)
    with pytest.raises(BadInput, match="unpacks to far more"):
        bring("plants", data.getvalue(), tansy)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"   \n", "is empty"),
        (b"\xd0\xcf\x11\xe0" + b"x" * 50, "old workbook"),
        (b"PK\x03\x04 not a zip", "damaged, or not a workbook"),
        (b"label,name\nA\x00,B\n", "not a text file"),
        (b'label,name\nA,"Primula veris\n', "double quote"),
        (b"label,name,Label\nA,B,C\n", r"the same|called 'Label'"),
    ],
)
def test_what_is_no_table_is_refused_in_words(data, words, tansy):
    with pytest.raises(BadInput, match=words):
        bring("plants", data, tansy)
    assert not Plant.objects.exists()


def test_a_cell_without_a_heading_is_told_at_its_row(tansy):
    (problem,) = bring("plants", "label,name,\nA,B,C\n", tansy).problems
    assert (problem.row_number, "under 2 headings" in problem.message) == (2, True)


def test_a_row_cut_short_is_told_by_its_number(tansy):
    report = bring("plants", "label,name,form\nA,Primula veris,pin\nB\n", tansy)
    (problem,) = report.problems
    assert problem.row_number == 3
    assert "under 3 headings" in problem.message
