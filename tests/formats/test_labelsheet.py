"""Sheets of labels by their measures."""

import pytest

from crosses.calc.errors import BadInput
from crosses.formats.labelsheet import (
    LEAST_TAG_HEIGHT_MM,
    PAGE_HEIGHT_MM,
    PAGE_WIDTH_MM,
    SHEETS,
    LabelSheet,
    check_sheet,
    positions,
    tape,
)


@pytest.mark.parametrize("name", SHEETS)
def test_every_sheet_offered_lies_within_the_page(name):
    sheet = SHEETS[name]
    check_sheet(sheet)
    places = list(positions(sheet, sheet.per_page))
    assert {place.page for place in places} == {0}
    assert max(place.left_mm for place in places) + sheet.width_mm <= PAGE_WIDTH_MM + 0.2
    assert max(place.top_mm for place in places) + sheet.height_mm <= PAGE_HEIGHT_MM + 0.2


@pytest.mark.parametrize("name", SHEETS)
def test_no_two_labels_of_a_page_overlap(name):
    sheet = SHEETS[name]
    places = list(positions(sheet, sheet.per_page))
    for index, one in enumerate(places):
        for other in places[index + 1 :]:
            beside = abs(one.left_mm - other.left_mm) >= sheet.width_mm - 0.01
            below = abs(one.top_mm - other.top_mm) >= sheet.height_mm - 0.01
            assert beside or below


def test_labels_fill_a_row_before_the_next():
    sheet = LabelSheet(2, 2, 50, 30, 10, 20, 5, 4)
    assert [(p.page, p.left_mm, p.top_mm) for p in positions(sheet, 5)] == [
        (0, 10, 20),
        (0, 65, 20),
        (0, 10, 54),
        (0, 65, 54),
        (1, 10, 20),
    ]


@pytest.mark.parametrize(
    ("sheet", "field"),
    [
        (LabelSheet(4, 8, 70, 37, 0, 0), "columns"),
        (LabelSheet(3, 9, 70, 37, 0, 0), "rows"),
        (LabelSheet(3, 8, 20, 37, 0, 0), "width_mm"),
        (LabelSheet(0, 8, 70, 37, 0, 0), "columns"),
        (LabelSheet(3, 8, 60, 30, -1, 0), "left_mm"),
    ],
)
def test_measures_that_cannot_be_are_refused(sheet, field):
    with pytest.raises(BadInput) as no:
        check_sheet(sheet)
    assert no.value.field == field


def test_a_label_of_a_tape_is_its_own_page():
    labels = tape(70, 12)
    assert [(p.page, p.left_mm, p.top_mm) for p in positions(labels, 3)] == [
        (0, 0, 0),
        (1, 0, 0),
        (2, 0, 0),
    ]
    check_sheet(labels, least_height_mm=LEAST_TAG_HEIGHT_MM)
    # What a packet's label says does not fit there.
    with pytest.raises(BadInput, match="too small"):
        check_sheet(labels)


def test_there_is_no_twenty_fifth_place_on_a_sheet_of_twenty_four():
    with pytest.raises(BadInput, match="between 1 and 24"):
        list(positions(SHEETS["24 of 70 × 37 mm"], 1, start_at=25))
