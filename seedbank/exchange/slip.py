"""The packing slip on paper: what it says is in queries.slip, how it looks in templates/print."""

from collections.abc import Iterable, Sequence

from django.conf import settings
from django.template.loader import render_to_string

from crosses.base.pdf import render_pdf
from crosses.formats.qr import qr_svg
from seedbank.exchange.queries.customs import CustomsPaper
from seedbank.exchange.queries.packing import PickLine
from seedbank.exchange.queries.slip import Slip

# One fixed mask takes a quarter of the time, and every reader reads all eight.
QR_MASK = 2


def slip_html(slip: Slip) -> str:
    lines = [
        (line, qr_svg(line.address, title=f"Page of packet {line.packet_number}", mask=QR_MASK))
        for line in slip.lines
    ]
    code = qr_svg(slip.report_address, title="Page to report what came up", mask=QR_MASK)
    context = {"slip": slip, "lines": lines, "report_code": code}
    return render_to_string("print/slip.html", context)


def slip_pdf(slips: Iterable[Slip]) -> bytes:
    """Return slips as one tagged PDF, each on sheets of its own with its own page numbers."""
    return render_pdf(*map(slip_html, slips), stylesheet="slip.css")


def customs_html(paper: CustomsPaper) -> str:
    return render_to_string("print/customs.html", {"paper": paper})


def customs_pdf(papers: Iterable[CustomsPaper]) -> bytes:
    return render_pdf(*map(customs_html, papers), stylesheet="customs.css")


def picklist_pdf(lines: Sequence[PickLine]) -> bytes:
    """Return what to take from the store as a list with a box to tick, large enough for a tray."""
    parcels = len({line.parcel_number for line in lines})
    context = {"lines": lines, "parcels": parcels, "society_name": settings.SOCIETY_NAME}
    html = render_to_string("print/picklist.html", context)
    return render_pdf(html, stylesheet="picklist.css")
