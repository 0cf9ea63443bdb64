"""The packing slip on paper: what it says is in queries.slip, how it looks in templates/print."""

from collections.abc import Iterable

from django.template.loader import render_to_string

from crosses.base.pdf import render_pdf
from crosses.formats.qr import qr_svg
from seedbank.exchange.queries.slip import Slip

# One fixed mask takes a quarter of the time, and every reader reads all eight.
QR_MASK = 2


def slip_html(slip: Slip) -> str:
    lines = [
        (line, qr_svg(line.address, title=f"Page of packet {line.packet_number}", mask=QR_MASK))
        for line in slip.lines
    ]
    return render_to_string("print/slip.html", {"slip": slip, "lines": lines})


def slip_pdf(slips: Iterable[Slip]) -> bytes:
    """Return slips as one tagged PDF, each on sheets of its own with its own page numbers."""
    return render_pdf(*map(slip_html, slips), stylesheet="slip.css")
