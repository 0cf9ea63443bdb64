"""The packing slip on paper: what it says is in queries.slip, how it looks in templates/print."""

from django.template.loader import render_to_string

from crosses.base.pdf import render_pdf
from crosses.formats.qr import qr_svg
from seedbank.exchange.queries.slip import Slip

# One fixed mask takes a quarter of the time, and every reader reads all eight.
QR_MASK = 2


def slip_html(slips: list[Slip]) -> str:
    pages = [
        (
            slip,
            [
                (
                    line,
                    qr_svg(
                        line.address, title=f"Page of packet {line.packet_number}", mask=QR_MASK
                    ),
                )
                for line in slip.lines
            ],
        )
        for slip in slips
    ]
    return render_to_string("print/slip.html", {"pages": pages})


def slip_pdf(slips: list[Slip]) -> bytes:
    """Return slips as one tagged PDF, each beginning on a sheet of its own."""
    return render_pdf(slip_html(slips), stylesheet="slip.css")
