"""The picture of a sheet: every place once, and nothing in it that the page's policy refuses."""

import xml.etree.ElementTree as ET

from crosses.formats.labelsheet import SHEETS, tape
from crosses.formats.sheetpicture import sheet_picture

SHEET = SHEETS["21 of 63.5 × 38.1 mm"]


def read(picture):
    return ET.fromstring(picture)  # noqa: S314  our own drawing


def kinds(picture):
    return [found.get("class") for found in read(picture).iter("rect")][1:]


def test_places_are_used_then_printed_then_free():
    picture = sheet_picture(SHEET, [["26-01"], ["26-02"]], start_at=4)
    assert kinds(picture) == ["used"] * 3 + ["label"] * 2 + ["free"] * 16


def test_labels_that_go_on_to_the_next_page_are_not_drawn_on_the_first():
    assert (
        kinds(sheet_picture(SHEET, [["26-01"]] * 5, start_at=20)) == ["used"] * 19 + ["label"] * 2
    )


def test_a_tape_shows_one_label():
    assert kinds(sheet_picture(tape(60, 20), [["26-01"], ["26-02"]])) == ["label"]


def test_a_name_with_signs_of_markup_is_text():
    picture = sheet_picture(SHEET, [["<script>alert(1)</script> & 'Smoke'"]])
    assert "<script" not in picture
    assert any(
        "& 'Smoke'" in (found.text or "") or "…" in (found.text or "")
        for found in read(picture).iter("text")
    )


def test_there_is_no_style_in_it_but_by_classes():
    assert "style" not in sheet_picture(SHEET, [["26-01"]], start_at=2)
