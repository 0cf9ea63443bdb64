"""A sheet or a tape of labels by its measures, and where on which page each label falls."""

from collections.abc import Iterator
from dataclasses import dataclass

from crosses.calc.errors import BadInput

PAGE_WIDTH_MM = 210.0
PAGE_HEIGHT_MM = 297.0
# Below this neither the code nor the number can be read. A tag says less than a packet's label.
LEAST_WIDTH_MM = 36.0
LEAST_HEIGHT_MM = 20.0
LEAST_TAG_HEIGHT_MM = 12.0
LONGEST_TAPE_LABEL_MM = 300.0
# A ruler is read to a fifth of a millimetre.
_TOLERANCE_MM = 0.2


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """Labels on a page, A4 unless said otherwise; measures in millimetres from the top left."""

    columns: int
    rows: int
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    gap_across_mm: float = 0.0
    gap_down_mm: float = 0.0
    page_width_mm: float = PAGE_WIDTH_MM
    page_height_mm: float = PAGE_HEIGHT_MM

    @property
    def per_page(self) -> int:
        return self.columns * self.rows


def tape(length_mm: float, tape_width_mm: float) -> LabelSheet:
    """Return the labels of a continuous tape: each is a page of its own, written along the tape."""
    return LabelSheet(
        1,
        1,
        length_mm,
        tape_width_mm,
        0.0,
        0.0,
        page_width_mm=length_mm,
        page_height_mm=tape_width_mm,
    )


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


def check_sheet(sheet: LabelSheet, *, least_height_mm: float = LEAST_HEIGHT_MM) -> None:
    """Say what is wrong with measures that somebody typed.

    Parameters
    ----------
    sheet : LabelSheet
    least_height_mm : float
        What the label has to hold, `LEAST_HEIGHT_MM` or `LEAST_TAG_HEIGHT_MM`.

    Raises
    ------
    BadInput
        If a label is too small to read, or the labels reach over the edge of the page.
    """
    if sheet.columns < 1 or sheet.rows < 1:
        raise BadInput("A sheet has one row and one column or more.", field="columns")
    if min(sheet.left_mm, sheet.top_mm, sheet.gap_across_mm, sheet.gap_down_mm) < 0:
        raise BadInput("A margin or gap cannot be below nothing.", field="left_mm")
    if sheet.width_mm < LEAST_WIDTH_MM or sheet.height_mm < least_height_mm:
        raise BadInput(
            f"A label under {LEAST_WIDTH_MM:g} × {least_height_mm:g} mm is too small for the code"
            " and the number.",
            field="width_mm" if sheet.width_mm < LEAST_WIDTH_MM else "height_mm",
        )
    if sheet.page_width_mm > LONGEST_TAPE_LABEL_MM:
        raise BadInput(
            f"A label of a tape is up to {LONGEST_TAPE_LABEL_MM:g} mm long.", field="width_mm"
        )
    right = sheet.left_mm + sheet.columns * sheet.width_mm
    right += (sheet.columns - 1) * sheet.gap_across_mm
    if right > sheet.page_width_mm + _TOLERANCE_MM:
        raise BadInput(
            f"The labels reach {right:g} mm across; the page is {sheet.page_width_mm:g} mm wide.",
            field="columns",
        )
    bottom = sheet.top_mm + sheet.rows * sheet.height_mm + (sheet.rows - 1) * sheet.gap_down_mm
    if bottom > sheet.page_height_mm + _TOLERANCE_MM:
        raise BadInput(
            f"The labels reach {bottom:g} mm down; the page is {sheet.page_height_mm:g} mm high.",
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
