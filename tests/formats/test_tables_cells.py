"""What cells say, which column is which, and what is written."""

import io
from datetime import date
from decimal import Decimal

import openpyxl
import pytest

from crosses.calc.errors import BadInput
from seedbank.formats.tables import (
    Column,
    looks_like_formula,
    match_columns,
    read_choice,
    read_date,
    read_decimal,
    read_relative_date,
    read_text,
    read_whole_number,
    read_yes_no,
    write_csv,
    write_xlsx,
)

WANTED = [
    Column("seed_parent", ("mother", "seed parent"), required=True),
    Column("pollen_parent", ("father",), required=True),
    Column("seeds"),
]


@pytest.mark.parametrize(
    "value", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "+44-20-1234", "-"]
)
def test_what_a_spreadsheet_would_run_is_seen_and_neutralised(value):
    assert looks_like_formula(value)
    (line,) = list(write_csv([[value]], ["note"]))[1:]
    assert line.decode().lstrip('"').startswith("'" + value[0])


@pytest.mark.parametrize("value", ["-12", "-0.5", "+3", "+44 20 7946 0000", "Smoke", "", "a=b"])
def test_numbers_telephone_numbers_and_words_are_no_formulas(value):
    assert not looks_like_formula(value)


def test_numbers_stay_numbers_in_csv():
    lines = list(
        write_csv([[-3, -0.5, Decimal("-1.50"), "-7", None, True, date(2026, 5, 31)]], "abcdefg")
    )
    assert lines[1] == b"-3,-0.5,-1.50,-7,,yes,2026-05-31\r\n"


def test_csv_ends_lines_with_crlf_and_doubles_quotes():
    assert b"".join(write_csv([['say "hi", twice', "line\nend"]], ["a", "b"])) == (
        b'a,b\r\n"say ""hi"", twice","line\nend"\r\n'
    )


def test_csv_is_written_row_by_row():
    def endless():
        while True:
            yield ["x"]

    lines = write_csv(endless(), ["a"])
    assert [next(lines), next(lines), next(lines)] == [b"a\r\n", b"x\r\n", b"x\r\n"]


def test_a_byte_order_mark_is_written_when_asked_for():
    assert b"".join(write_csv([], ["a"], bom=True)) == b"\xef\xbb\xbfa\r\n"


def test_a_row_that_does_not_fit_its_headings_is_a_fault_of_ours():
    with pytest.raises(ValueError, match="1 cells under 2 headings"):
        list(write_csv([["x"]], ["a", "b"]))


def test_text_in_a_workbook_never_becomes_a_formula():
    data = write_xlsx([["=1+1", -3, "bell\a"]], ["a", "b", "c"], sheet="List")
    sheet = openpyxl.load_workbook(io.BytesIO(data))["List"]
    assert [cell.data_type for cell in sheet[2]] == ["s", "n", "s"]
    assert [cell.value for cell in sheet[2]] == ["=1+1", -3, "bell"]
    assert sheet.freeze_panes == "A2"


def test_a_text_cell_that_looks_like_a_formula_is_refused_at_its_column():
    with pytest.raises(BadInput, match="looks like a formula") as refusal:
        read_text("=HYPERLINK(1)", "note")
    assert refusal.value.field == "note"


@pytest.mark.parametrize("text", ["'=odd name", "'-sonata"])
def test_the_guarding_apostrophe_is_taken_off_again(text):
    assert read_text(text, "note") == text[1:]


@pytest.mark.parametrize("text", ["'Smoke'", "plain", "", "-12"])
def test_other_text_is_left_as_typed(text):
    assert read_text(text, "note") == text


@pytest.mark.parametrize(
    "header",
    [
        ["seed_parent", "pollen_parent"],
        ["Seed Parent", "POLLEN-PARENT"],
        ["mother", " Father "],
    ],
)
def test_headings_are_found_however_they_are_spelled(header):
    match = match_columns(header, WANTED)
    assert match.headings == {"seed_parent": header[0], "pollen_parent": header[1]}
    row = dict(zip(header, ["Smoke", "Lemon"], strict=True))
    assert match.cell(row, "seed_parent") == "Smoke"
    assert match.cell(row, "seeds") == ""


def test_a_missing_column_is_named_with_what_was_perhaps_meant():
    with pytest.raises(BadInput) as refusal:
        match_columns(["seed parnet", "date"], WANTED)
    assert refusal.value.message == (
        "The file has no column 'seed_parent'; did you mean 'seed parnet'? "
        "The file has no column 'pollen_parent'."
    )


def test_a_column_nobody_asked_for_is_noted_with_what_was_perhaps_meant():
    match = match_columns(["mother", "father", "sedes", "weather"], WANTED)
    assert match.notes == (
        "Column 'sedes' was not read; did you mean 'seeds'?",
        "Column 'weather' was not read",
    )


@pytest.mark.parametrize("header", [["mother", "seed_parent", "father"], ["father", "Fa ther"]])
def test_two_columns_for_the_same_thing_are_refused(header):
    with pytest.raises(BadInput, match="are the same"):
        match_columns(header, WANTED)


def test_a_date_is_year_month_day():
    assert read_date("2026-05-31", "on") == date(2026, 5, 31)


@pytest.mark.parametrize("text", ["31.05.2026", "5/31/26", "20260531", "2026-5-31", "-12d", ""])
def test_other_dates_are_refused_with_an_example(text):
    with pytest.raises(BadInput, match="such as 2026-05-31") as refusal:
        read_date(text, "on")
    assert refusal.value.field == "on"


def test_a_day_that_does_not_exist_is_refused():
    with pytest.raises(BadInput, match="There is no day 2026-02-30"):
        read_date("2026-02-30", "on")


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("-12d", date(2026, 5, 19)),
        ("+3w", date(2026, 6, 21)),
        ("+0d", date(2026, 5, 31)),
        ("2025-01-02", date(2025, 1, 2)),
    ],
)
def test_demo_files_may_count_from_today(text, day):
    assert read_relative_date(text, "on", date(2026, 5, 31)) == day


@pytest.mark.parametrize("text", ["12d", "-12m", "-123456d", "--1d"])
def test_other_relative_dates_are_refused(text):
    with pytest.raises(BadInput, match="such as 2026-05-31"):
        read_relative_date(text, "on", date(2026, 5, 31))


def test_whole_numbers_are_digits_only():
    assert read_whole_number("1200", "seeds") == 1200
    assert read_whole_number("-3", "celsius") == -3
    for text in ("1,200", "1_200", "12.0", "٣", "", "1e3"):
        with pytest.raises(BadInput, match="digits only"):
            read_whole_number(text, "seeds")


def test_decimals_take_a_full_stop():
    assert read_decimal("0.41", "grams") == Decimal("0.41")
    for text in ("0,41", "1.234,5", "NaN", "Infinity", ".5", ""):
        with pytest.raises(BadInput, match="full stop"):
            read_decimal(text, "grams")


def test_numbers_out_of_range_say_the_limit():
    with pytest.raises(BadInput, match="-1 is too small: 0 or more"):
        read_whole_number("-1", "seeds", minimum=0)
    with pytest.raises(BadInput, match="101 is too large: 100 or less"):
        read_whole_number("101", "percent", maximum=100)
    with pytest.raises(BadInput, match=r"0 is too small: 0\.001 or more"):
        read_decimal("0", "grams", minimum=Decimal("0.001"))
    with pytest.raises(BadInput, match="9 is too large: 1 or less"):
        read_decimal("9", "grams", maximum=Decimal(1))


def test_yes_and_no_are_understood_and_nothing_else():
    assert [read_yes_no(text, "bagged") for text in ("yes", "Y", "TRUE", "1")] == [True] * 4
    assert [read_yes_no(text, "bagged") for text in ("no", "N", "False", "0")] == [False] * 4
    with pytest.raises(BadInput, match="neither yes nor no"):
        read_yes_no("perhaps", "bagged")


def test_a_choice_is_given_back_as_it_is_spelled_in_the_list():
    assert read_choice("ORTHODOX", "storage", ["orthodox", "unknown"]) == "orthodox"
    with pytest.raises(BadInput, match="not one of: orthodox, unknown"):
        read_choice("dry", "storage", ["orthodox", "unknown"])
