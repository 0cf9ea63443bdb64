"""The Multi-crop Passport Descriptors V2.1, out and in.

Source of fields, codes and examples: Alercia, Diulgheroff and Mackay (2015), FAO/Bioversity
Multi-Crop Passport Descriptors V.2.1, as quoted in the published BrAPI 2.1 schemas that stand with
the tests of the API; examples marked "common practice" are not in that text.
"""

import csv
import io
import json
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from crosses.calc.errors import BadInput
from seedbank.formats.mcpd import (
    BY_NAME,
    COLLECTING_SOURCE,
    DESCRIPTORS,
    HEADER,
    MLS_STATUS,
    SAMPLE_STATUS,
    STORAGE,
    PartialDate,
    read_degrees,
    read_partial_date,
    read_passport,
    write_passports,
)
from seedbank.formats.tables import read_table, write_csv, write_xlsx

PUBLISHED = json.loads(
    (Path(__file__).parents[1] / "api/brapi_schemas/brapi-germplasm-2.1.merged.json").read_text()
)["components"]["schemas"]["GermplasmMCPD"]["properties"]

WHOLE = {
    "PUID": "10.0155/1999.12345",
    "INSTCODE": "COL001",
    "ACCENUMB": "PI 113869",
    "COLLNUMB": "AB-12",
    "COLLCODE": "PER001;COL001",
    "COLLNAME": "Oddwater Garden;Thistledrop Moor Station",
    "COLLINSTADDRESS": "1 Invented Lane;2 Invented Lane",
    "COLLMISSID": "CN_426",
    "GENUS": "Primula",
    "SPECIES": "vulgaris",
    "SPAUTHOR": "Huds.",
    "SUBTAXA": "subsp. sibthorpii",
    "SUBTAUTHOR": "(Hoffmanns.) W.W.Sm. & Forrest",
    "CROPNAME": "primrose",
    "ACCENAME": "Symphony;Emma",
    "ACQDATE": "2008----",
    "ORIGCTY": "GBR",
    "COLLSITE": "7 km south of Townsville",
    "DECLATITUDE": "-44.6975",
    "LATITUDE": "10----S",
    "DECLONGITUDE": "120.9123",
    "LONGITUDE": "0762510W",
    "COORDUNCERT": "100",
    "COORDDATUM": "WGS84",
    "GEOREFMETH": "GPS",
    "ELEVATION": "-3",
    "COLLDATE": "200803--",
    "BREDCODE": "COL001",
    "BREDNAME": "Tansy Oddwater",
    "SAMPSTAT": "999",
    "ANCEST": "Hanna/7*Atlas//Turk/8*Atlas",
    "COLLSRC": "99",
    "DONORCODE": "PER001",
    "DONORNAME": "Cosmo Dribblethwaite",
    "DONORNUMB": "D-7",
    "OTHERNUMB": "COL001:X7;:own 12",
    "DUPLSITE": "PER001",
    "DUPLINSTNAME": "Thistledrop Moor Station",
    "STORAGE": "20;30",
    "MLSSTAT": "1",
    "REMARKS": "COLLSRC:seed exchange;SAMPSTAT:garden open-pollinated",
}


def read_rows(data, filename):
    rows = read_table(data, filename).rows
    read = [read_passport(row.cells) for row in rows]
    assert [problem for _passport, problems in read for problem in problems] == []
    return [passport for passport, _problems in read]


def only_problem(**cells):
    _passport, problems = read_passport(cells)
    (problem,) = problems
    return problem


def test_every_field_is_there_once_in_the_order_of_the_standard():
    assert len(DESCRIPTORS) == len(BY_NAME) == 41
    numbers = [[int(part) for part in each.number.split(".")] for each in DESCRIPTORS]
    assert numbers == sorted(numbers)
    assert set(WHOLE) == set(HEADER)


@pytest.mark.parametrize(
    ("codes", "published"),
    [
        (SAMPLE_STATUS, PUBLISHED["biologicalStatusOfAccessionCode"]["enum"]),
        (COLLECTING_SOURCE, PUBLISHED["acquisitionSourceCode"]["enum"]),
        (STORAGE, PUBLISHED["storageTypeCodes"]["items"]["enum"]),
        (MLS_STATUS, [code for code in PUBLISHED["mlsStatus"]["enum"] if code]),
    ],
)
def test_the_code_lists_are_the_published_ones(codes, published):
    assert sorted(codes) == sorted(published)


def test_a_whole_passport_is_read_and_written_as_it_was():
    passport, problems = read_passport(WHOLE)
    assert problems == []
    assert passport["STORAGE"] == ("20", "30")
    assert passport["DECLATITUDE"] == Decimal("-44.6975")
    (row,) = write_passports([passport])
    assert dict(zip(HEADER, row, strict=True)) == WHOLE


def test_a_written_file_is_read_by_the_plain_library_and_by_us():
    passport, _problems = read_passport(WHOLE)
    data = b"".join(write_csv(write_passports([passport]), HEADER))
    (plain,) = csv.DictReader(io.StringIO(data.decode("utf-8"), newline=""))
    assert plain == WHOLE
    assert read_rows(data, "passports.csv") == [passport]


def test_a_written_workbook_is_read_by_the_plain_library_and_by_us():
    passport, _problems = read_passport(WHOLE)
    data = write_xlsx(write_passports([passport]), HEADER, sheet="MCPD")
    sheet = openpyxl.load_workbook(io.BytesIO(data)).active
    header, cells = sheet.iter_rows(values_only=True)
    assert dict(zip(header, cells, strict=True)) == WHOLE
    assert read_rows(data, "passports.xlsx") == [passport]


def test_a_file_made_by_the_plain_workbook_library_is_read():
    """Numbers where one would expect text: what a spreadsheet makes of codes and dates."""
    book = openpyxl.Workbook()
    book.active.append(["ACCENUMB", "GENUS", "COLLDATE", "SAMPSTAT", "ELEVATION", "DECLATITUDE"])
    book.active.append([12, "Primula", 20080315, 100, 250, 51.5])
    buffer = io.BytesIO()
    book.save(buffer)
    (passport,) = read_rows(buffer.getvalue(), "elsewhere.xlsx")
    assert passport["COLLDATE"] == PartialDate(2008, 3, 15)
    assert (passport["SAMPSTAT"], passport["ELEVATION"]) == ("100", 250)
    assert passport["DECLATITUDE"] == Decimal("51.5")


@pytest.mark.parametrize(
    ("text", "date"),
    [
        ("20080315", PartialDate(2008, 3, 15)),
        ("200803--", PartialDate(2008, 3)),
        ("20080300", PartialDate(2008, 3)),
        ("2008----", PartialDate(2008)),
        ("20080000", PartialDate(2008)),
    ],
)
def test_a_date_may_lack_its_day_or_its_month(text, date):
    """The rule is the standard's; these examples are common practice."""
    assert read_partial_date(text, "COLLDATE") == date


@pytest.mark.parametrize(
    "text", ["2008-03", "2008--15", "20081301", "20080230", "200803", "0000----", "200803- "]
)
def test_what_is_no_date_is_refused_with_the_way_to_write_it(text):
    problem = only_problem(COLLDATE=text)
    assert (problem.field, problem.typed) == ("COLLDATE", text)


@given(st.dates())
def test_a_whole_date_comes_back(day):
    assert read_partial_date(str(PartialDate.of(day)), "ACQDATE").whole() == day


@pytest.mark.parametrize(
    ("text", "digits", "degrees"),
    [
        ("103020S", 2, Decimal(-10) - Decimal(30) / 60 - Decimal(20) / 3600),
        ("0762510W", 3, Decimal(-76) - Decimal(25) / 60 - Decimal(10) / 3600),
        ("10----S", 2, Decimal(-10)),
        ("4531--S", 2, Decimal(-45) - Decimal(31) / 60),
        ("076----W", 3, Decimal(-76)),
        ("07625--W", 3, Decimal(-76) - Decimal(25) / 60),
    ],
)
def test_degrees_minutes_and_seconds_may_lack_their_end(text, digits, degrees):
    assert read_degrees(text, "LATITUDE", digits=digits) == degrees


@pytest.mark.parametrize("text", ["10--20S", "103020E", "916000S", "10 30 20 S", "100000N0"])
def test_what_is_no_latitude_is_refused(text):
    with pytest.raises(BadInput, match=r"DDMMSSH|no place"):
        read_degrees(text, "LATITUDE", digits=2)


def test_every_wrong_cell_of_a_row_is_told():
    _passport, problems = read_passport(
        {
            "GENUS": "primula",
            "SPECIES": "Vulgaris",
            "SAMPSTAT": "13",
            "STORAGE": "10;12;21",
            "ORIGCTY": "UK",
            "DECLATITUDE": "95",
            "ACQDATE": "March",
            "REMARKS": "=HYPERLINK(1)",
        }
    )
    assert [problem.field for problem in problems] == [
        "GENUS",
        "SPECIES",
        "SAMPSTAT",
        "STORAGE",
        "ORIGCTY",
        "DECLATITUDE",
        "ACQDATE",
        "REMARKS",
    ]


def test_a_semicolon_inside_a_value_is_written_as_a_comma():
    (row,) = write_passports([{"ACCENAME": ("Quill; feather", "Emma"), "COLLSITE": "moor; wet"}])
    told = dict(zip(HEADER, row, strict=True))
    assert told["ACCENAME"] == "Quill, feather;Emma"
    assert told["COLLSITE"] == "moor, wet"


def test_a_code_that_is_not_published_cannot_be_written():
    with pytest.raises(BadInput, match="no code of STORAGE"):
        list(write_passports([{"STORAGE": ("10", "15")}]))


def test_a_hybrid_species_keeps_its_sign():
    passport, problems = read_passport({"GENUS": "Primula", "SPECIES": "× polyantha"})
    assert problems == []
    assert passport["SPECIES"] == "× polyantha"
