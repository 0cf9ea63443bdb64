"""Tags for pollinated flowers: what each says, then HTML, then the door to the PDF maker."""

from collections.abc import Sequence

from django.template.loader import render_to_string

from crosses.base.pdf import render_pdf
from crosses.formats.labelsheet import LabelSheet
from crosses.queries.tags import Tag, pages_of

# Up to here the words of a tag have no room for lines of their own.
LOW_MM = 25.0
LARGEST_CODE_MM = 17.0


def tags_pdf(tags: Sequence[Tag], sheet: LabelSheet, start_at: int) -> bytes:
    """Lay tags out on a sheet or a tape, beginning at a free place of the first page."""
    context = {
        "pages": pages_of(tags, sheet, start_at),
        "sheet": sheet,
        "is_low": sheet.height_mm < LOW_MM,
        "code_mm": min(LARGEST_CODE_MM, sheet.height_mm - 1.0),
    }
    return render_pdf(render_to_string("print/tags.html", context), stylesheet="tags.css")
