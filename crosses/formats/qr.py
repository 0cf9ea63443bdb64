"""QR codes (ISO/IEC 18004) as SVG for tags, labels and slips."""

import segno

from crosses.calc.errors import BadInput


def qr_svg(text: str, *, title: str, mask: int | None = None) -> str:
    """Return a QR code as an inline SVG element, quiet zone included.

    The error level is at least M: fifteen percent of a tag may be mud. A level that needs no larger
    symbol is taken when there is one.

    Parameters
    ----------
    text : str
        What a scanner reads.
    title : str
        What a person who cannot see it is told; it becomes the text alternative in the PDF.
    mask : int, optional
        One of the eight mask patterns, 0-7. Without it the standard's own choice is made, which
        takes most of the time; a sheet of hundreds may fix one, every reader reads all eight.

    Raises
    ------
    BadInput
        If the text or the title is empty, the text is too long for a QR code, or there is no such
        mask.
    """
    if not text:
        raise BadInput("There is nothing to put into the QR code.", field="text")
    if not title.strip():
        raise BadInput("A QR code needs a title for those who cannot see it.", field="title")
    if mask is not None and mask not in range(8):
        raise BadInput("A QR code has the masks 0 to 7.", field="mask")
    # Beyond ASCII readers guess the encoding, and read a lone multiplication sign as Japanese;
    # so it is named in the code. Plain text goes without, for readers too old to know the marker.
    encoding = None if text.isascii() else "utf-8"
    try:
        code = segno.make_qr(text, error="m", mask=mask, encoding=encoding, eci=bool(encoding))
    except segno.DataOverflowError:
        raise BadInput("The text is too long for a QR code.", field="text") from None
    svg: str = code.svg_inline(title=title, omitsize=True, svgclass=None, lineclass=None)
    return svg.replace("<svg", '<svg role="img"', 1)
