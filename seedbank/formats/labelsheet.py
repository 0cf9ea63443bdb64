"""A sheet of labels by its measures, and where on which page each label falls."""

from collections.abc import Iterator
from dataclasses import dataclass

from crosses.calc.errors import BadInput

PAGE_WIDTH_MM = 210.0
PAGE_HEIGHT_MM = 297.0
# Below this neither the code nor the number can be read.
LEAST_WIDTH_MM = 36.0
LEAST_HEIGHT_MM = 20.0
# A ruler is read to a fifth of a millimetre.
_TOLERANCE_MM = 0.2


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """Labels on an A4 page, all measures in millimetres from the top left corner."""

    columns: int
    rows: int
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    gap_across_mm: float = 0.0
    gap_down_mm: float = 0.0

    @property
    def per_page(self) -> int:
        return self.columns * self.rows


@dataclass(frozen=True, slots=True)
class Position:
    """Where a label falls: its page (from 0) and its top left corner."""

    page: int
    left_mm: float
    top_mm: float


# Measures of sheets sold everywhere, by their size; common practice, no source.
SHEETS: dict[str, LabelSheet] = {
    "24 of 70 × 37 mm": LabelSheet(3, 8, 70.0, 37.0, 0.0, 0.5),
    "21 of 63.5 × 38.1 mm": LabelSheet(3, 7, 63.5, 38.1, 7.2, 15.1, 2.5, 0.0),
    "14 of 99.1 × 38.1 mm": LabelSheet(2, 7, 99.1, 38.1, 4.7, 15.1, 2.5, 0.0),
    "40 of 48.5 × 25.4 mm": LabelSheet(4, 10, 48.5, 25.4, 8.0, 21.5, 0.0, 0.0),
}


def check_sheet(sheet: LabelSheet) -> None:
    """Say what is wrong with measures that somebody typed.

    Raises
    ------
    BadInput
        If a label is too small to read, or the labels reach over the edge of the page.
    """
    if sheet.columns < 1 or sheet.rows < 1:
        raise BadInput("A sheet has one row and one column or more.", field="columns")
    if min(sheet.left_mm, sheet.top_mm, sheet.gap_across_mm, sheet.gap_down_mm) < 0:
        raise BadInput("A margin or gap cannot be below nothing.", field="left_mm")
    if sheet.width_mm < LEAST_WIDTH_MM or sheet.height_mm < LEAST_HEIGHT_MM:
        raise BadInput(
            f"A label under {LEAST_WIDTH_MM:g} × {LEAST_HEIGHT_MM:g} mm is too small for the code"
            " and the number.",
            field="width_mm",
        )
    right = sheet.left_mm + sheet.columns * sheet.width_mm
    right += (sheet.columns - 1) * sheet.gap_across_mm
    if right > PAGE_WIDTH_MM + _TOLERANCE_MM:
        raise BadInput(
            f"The labels reach {right:g} mm across; the page is {PAGE_WIDTH_MM:g} mm wide.",
            field="columns",
        )
    bottom = sheet.top_mm + sheet.rows * sheet.height_mm + (sheet.rows - 1) * sheet.gap_down_mm
    if bottom > PAGE_HEIGHT_MM + _TOLERANCE_MM:
        raise BadInput(
            f"The labels reach {bottom:g} mm down; the page is {PAGE_HEIGHT_MM:g} mm high.",
            field="rows",
        )


def positions(sheet: LabelSheet, how_many: int, *, start_at: int = 1) -> Iterator[Position]:
    """Yield where each label falls, row by row, beginning at a free place of the first page.

    Raises
    ------
    BadInput
        If there is no such place on the page.

    Examples
    --------
    >>> [place.page for place in positions(SHEETS["24 of 70 × 37 mm"], 2, start_at=24)]
    [0, 1]
    """
    if not 1 <= start_at <= sheet.per_page:
        raise BadInput(
            f"The first free place is between 1 and {sheet.per_page} on this sheet.",
            field="start_at",
        )
    for index in range(start_at - 1, start_at - 1 + how_many):
        page, place = divmod(index, sheet.per_page)
        row, column = divmod(place, sheet.columns)
        yield Position(
            page,
            round(sheet.left_mm + column * (sheet.width_mm + sheet.gap_across_mm), 2),
            round(sheet.top_mm + row * (sheet.height_mm + sheet.gap_down_mm), 2),
        )
