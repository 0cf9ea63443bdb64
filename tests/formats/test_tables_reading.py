"""Reading CSV and XLSX as people make them."""

import io
import zipfile
from datetime import date, datetime, time

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from crosses.calc.errors import BadInput
from seedbank.formats.tables import Limits, read_table, write_csv, write_xlsx


def read(text: str, encoding: str = "utf-8", **kwargs):
    return read_table(text.encode(encoding), "crosses.csv", **kwargs)


def a_workbook(rows, change=None) -> bytes:
    workbook = openpyxl.Workbook()
    sheet = workbook.active
    sheet.title = "Crosses"
    for row in rows:
        sheet.append(row)
    if change:
        change(workbook, sheet)
    buffer = io.BytesIO()
    workbook.save(buffer)
    return buffer.getvalue()


def read_workbook(rows, change=None):
    return read_table(a_workbook(rows, change), "crosses.xlsx")


def test_rows_keep_the_numbers_a_spreadsheet_shows_beside_them():
    table = read("\nseed parent,seeds\nSmoke,290\n\n,\nLemon,315\n")
    assert table.header == ("seed parent", "seeds")
    assert [(row.number, row.cells) for row in table.rows] == [
        (3, {"seed parent": "Smoke", "seeds": "290"}),
        (6, {"seed parent": "Lemon", "seeds": "315"}),
    ]
    assert table.problems == ()
    assert table.notes == ()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_unicode_is_read_with_and_without_a_byte_order_mark(encoding):
    table = read("plant\nPrimula 'Späte Möhre'\n", encoding)
    assert table.header == ("plant",)
    assert table.rows[0].cells["plant"] == "Primula 'Späte Möhre'"
    assert table.notes == ()


def test_a_file_in_western_letters_is_read_and_says_so():
    table = read("plant\nPrimula \N{MULTIPLICATION SIGN} pubescens\n", "cp1252")
    assert table.rows[0].cells["plant"] == "Primula \N{MULTIPLICATION SIGN} pubescens"
    assert "Windows-1252" in table.notes[0]


@pytest.mark.parametrize("data", [b"a\x00b\x00,\n", b"plant\n\x81\n"])
def test_a_file_that_is_no_text_is_refused_with_advice(data):
    with pytest.raises(BadInput, match="Save it as CSV"):
        read_table(data, "photo.csv")


@pytest.mark.parametrize(("separator", "note"), [(",", None), (";", "semicolons"), ("\t", "tabs")])
def test_the_separator_is_found_from_the_headings(separator, note):
    lines = [["cross", "seed parent", "note, if any"], ["01", "Smoke", "a, b, c, d"]]
    text = "\n".join(separator.join(f'"{cell}"' for cell in line) for line in lines)
    table = read(text)
    assert table.header == ("cross", "seed parent", "note, if any")
    assert table.rows[0].cells["note, if any"] == "a, b, c, d"
    assert [note in said for said in table.notes] == ([True] if note else [])


def test_a_separator_declared_in_the_first_line_is_believed():
    table = read("sep=;\ncross;seeds\n01;290\n")
    assert table.header == ("cross", "seeds")


def test_a_cell_may_hold_separators_quotes_and_line_ends():
    table = read('cross,note\r\n01,"split, ""early""\r\nin heat"\r\n02,none\r\n')
    assert table.rows[0].cells["note"] == 'split, "early"\r\nin heat'
    assert table.rows[1].number == 3


def test_a_ragged_row_is_a_problem_that_names_the_row_and_spares_the_rest():
    table = read("cross,seeds\n01\n02,315,left, over\n03,62,,\n")
    assert [problem.row_number for problem in table.problems] == [2, 3]
    assert table.problems[0].message.startswith("Row 2 has 1 cells under 2 headings")
    assert "double quotes" in table.problems[1].message
    assert [row.number for row in table.rows] == [4]


def test_an_open_quote_is_refused_instead_of_swallowing_the_file():
    with pytest.raises(BadInput, match="never closed"):
        read('cross,note\n01,"split\n02,none\n')


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "is empty"),
        (" \n\n", "is empty"),
        (",,\n,,\n", "is empty"),
        ("cross,Seeds,seeds\n", "Two columns are called 'seeds'"),
        ("cross,,seeds\n", "Column 2 has no heading"),
    ],
)
def test_a_file_without_usable_headings_is_refused(text, message):
    with pytest.raises(BadInput, match=message):
        read(text)


def test_size_rows_and_columns_are_limited():
    with pytest.raises(BadInput, match="larger than"):
        read("a\n1\n", limits=Limits(max_bytes=3))
    with pytest.raises(BadInput, match="more than 2 rows"):
        read("a\n1\n2\n3\n", limits=Limits(max_rows=2))
    with pytest.raises(BadInput, match="more than 2 columns"):
        read("a,b,c\n", limits=Limits(max_columns=2))


def test_a_workbook_gives_dates_numbers_and_answers_as_text():
    table = read_workbook(
        [
            ["on", "at", "moment", "seeds", "grams", "share", "taken", "empty"],
            [
                date(2026, 5, 31),
                time(6, 30),
                datetime(2026, 5, 31, 6, 30),  # noqa: DTZ001 - a workbook knows no time zone
                290,
                0.1 + 0.2,
                1e-7,
                True,
                None,
            ],
        ]
    )
    assert tuple(table.rows[0].cells.values()) == (
        "2026-05-31",
        "06:30:00",
        "2026-05-31 06:30",
        "290",
        "0.3",
        "1e-07",
        "yes",
        "",
    )
    assert table.notes == ("Sheet 'Crosses' was read.",)


def test_a_workbook_counting_days_from_1904_gives_the_same_dates():
    def old_mac(workbook, sheet):
        workbook.epoch = CALENDAR_MAC_1904

    table = read_workbook([["on"], [date(2026, 5, 31)]], old_mac)
    assert table.rows[0].cells["on"] == "2026-05-31"


def test_blank_rows_and_short_rows_of_a_workbook_do_no_harm():
    table = read_workbook([[], ["cross", "seeds"], [], ["01"], ["02", 315, None]])
    assert [(row.number, row.cells["seeds"]) for row in table.rows] == [(4, ""), (5, "315")]


def test_a_formula_is_refused_with_its_cell():
    with pytest.raises(BadInput, match="Cell B2 holds a formula"):
        read_workbook([["cross", "seeds"], ["01", "=2*145"]])


def test_an_error_value_is_refused_with_its_cell():
    with pytest.raises(BadInput, match=r"Cell A2 holds an error \(#DIV/0!\)"):
        read_workbook([["seeds"], ["#DIV/0!"]])


def test_merged_cells_are_refused_on_the_sheet_that_is_read_only():
    with pytest.raises(BadInput, match="merged cells"):
        read_workbook([["a", "b"], ["1", "2"]], lambda _, sheet: sheet.merge_cells("A2:B2"))

    def merged_elsewhere(workbook, sheet):
        other = workbook.create_sheet("Notes")
        other["A1"] = "x"
        other.merge_cells("A1:B1")

    table = read_workbook([["a"], ["1"]], merged_elsewhere)
    assert table.rows[0].cells == {"a": "1"}
    assert table.notes[1] == "1 more sheet was left unread."


def test_hidden_sheets_are_passed_over():
    def hide(workbook, sheet):
        sheet.sheet_state = "hidden"
        second = workbook.create_sheet("Seen")
        second.append(["b"])
        second.append(["2"])

    assert read_workbook([["a"], ["1"]], hide).header == ("b",)


def test_a_workbook_that_unpacks_to_far_more_than_it_weighs_is_refused():
    data = a_workbook([["a"], ["1"]])
    buffer = io.BytesIO(data)
    with zipfile.ZipFile(buffer, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/media/blank.bin", b"\0" * 5_000_000)
    with pytest.raises(BadInput, match="unpacks to far more"):
        read_table(buffer.getvalue(), "bomb.xlsx")


def test_a_workbook_with_a_document_type_is_refused():
    buffer = io.BytesIO(a_workbook([["a"], ["1"]]))
    with zipfile.ZipFile(buffer, "a") as archive:
        archive.writestr("xl/extra.xml", '<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>')
    with pytest.raises(BadInput, match="not a plain workbook"):
        read_table(buffer.getvalue(), "entities.xlsx")


def test_other_packed_files_and_old_workbooks_are_refused_with_advice():
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
    with pytest.raises(BadInput, match=r"Save it as \.xlsx or CSV"):
        read_table(buffer.getvalue(), "crosses.ods")
    with pytest.raises(BadInput, match="old workbook"):
        read_table(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "crosses.xls")


@pytest.mark.parametrize("kept", [40, 400, 2000])
def test_a_damaged_workbook_is_refused_in_words(kept):
    with pytest.raises(BadInput, match="damaged, or not a workbook"):
        read_table(a_workbook([["a"], ["1"]])[:kept], "cut.xlsx")


def test_a_workbook_with_a_broken_sheet_is_refused_in_words():
    source = zipfile.ZipFile(io.BytesIO(a_workbook([["a"], ["1"]])))
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name in source.namelist():
            data = source.read(name)
            archive.writestr(name, data[:-40] if name.endswith("sheet1.xml") else data)
    with pytest.raises(BadInput, match="damaged, or not a workbook"):
        read_table(buffer.getvalue(), "broken.xlsx")


cell = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=20).map(str.strip)


@given(rows=st.lists(st.tuples(cell, cell), max_size=8))
def test_what_is_written_as_csv_comes_back(rows):
    data = b"".join(write_csv(rows, ["first", "second"]))
    table = read_table(data, "x.csv")
    guarded = [tuple(found.cells.values()) for found in table.rows]
    plain = [tuple(value.removeprefix("'") for value in row) for row in guarded]
    assert plain == [tuple(value.removeprefix("'") for value in row) for row in rows if any(row)]


@given(rows=st.lists(st.tuples(cell, cell), max_size=8))
def test_what_is_written_as_a_workbook_comes_back(rows):
    table = read_table(write_xlsx(rows, ["first", "second"], sheet="List"), "x.xlsx")
    assert [tuple(found.cells.values()) for found in table.rows] == [
        row for row in rows if any(row)
    ]
