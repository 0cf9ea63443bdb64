"""A picture of a sheet of labels before it is printed: used places, labels, and free places."""

from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from crosses.formats.labelsheet import LabelSheet, Position, positions

# Letters that fit a line of a label in the picture, by its width.
_LETTERS_A_MM = 0.42


def sheet_picture(sheet: LabelSheet, labels: Sequence[Sequence[str]], *, start_at: int = 1) -> str:
    """Draw the first page as an inline SVG element, a millimetre to a unit.

    Parameters
    ----------
    sheet : LabelSheet
    labels : sequence of sequences of str
        The lines of each label, in order; those that do not fit this page are on others.
    start_at : int
        First free place; the places before it are crossed out.

    Examples
    --------
    >>> from crosses.formats.labelsheet import tape
    >>> sheet_picture(tape(60, 20), [["26-07"]]).count("<text")
    1
    """
    here = min(len(labels), sheet.per_page - start_at + 1)
    title = (
        f"First page: {sheet.per_page} places of {sheet.width_mm:g} by {sheet.height_mm:g} mm,"
        f" {start_at - 1} used before, {here} printed now."
    )
    printed = dict(enumerate(labels[:here], start=start_at))
    places = [
        _place(sheet, place, number, printed.get(number), is_used=number < start_at)
        for number, place in enumerate(positions(sheet, sheet.per_page), start=1)
    ]
    width, height = sheet.page_width_mm, sheet.page_height_mm
    return (
        f'<svg class="sheet-picture" role="img" aria-label={quoteattr(title)}'
        f' viewBox="-1 -1 {width + 2:g} {height + 2:g}">'
        f'<rect class="page" width="{width:g}" height="{height:g}"/>{"".join(places)}</svg>'
    )


def _place(
    sheet: LabelSheet,
    place: Position,
    number: int,
    lines: Sequence[str] | None,
    *,
    is_used: bool,
) -> str:
    left, top, width, height = place.left_mm, place.top_mm, sheet.width_mm, sheet.height_mm
    kind = "used" if is_used else "free" if lines is None else "label"
    drawn = f'<rect class="{kind}" x="{left:g}" y="{top:g}" width="{width:g}" height="{height:g}"/>'
    if is_used:
        return drawn + (
            f'<path class="cross" d="M{left:g} {top:g}l{width:g} {height:g}m0 {-height:g}'
            f'l{-width:g} {height:g}"/>'
        )
    if lines is None:
        middle = f'x="{left + width / 2:g}" y="{top + height / 2:g}"'
        return drawn + f'<text class="place" {middle} text-anchor="middle">{number}</text>'
    step = min(height / (len(lines) + 0.6), 6.0)
    most = max(int(width * _LETTERS_A_MM * 6.0 / step), 4)
    for line, words in enumerate(lines, start=1):
        short = words if len(words) <= most else f"{words[: most - 1]}…"
        drawn += (
            f'<text x="{left + 2:g}" y="{top + line * step:g}" font-size="{step * 0.75:g}">'
            f"{escape(short)}</text>"
        )
    return drawn
