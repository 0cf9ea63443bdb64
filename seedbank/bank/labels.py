"""Labels for packets: what each says, then HTML, then the door to the PDF maker."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from django.conf import settings
from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe

from crosses.base.pdf import render_pdf
from crosses.formats.labelsheet import LabelSheet, Position, positions
from crosses.formats.qr import qr_svg
from seedbank.bank.kinds import cautions_of_lots
from seedbank.bank.models import Donation, DonationLine, Packet
from seedbank.bank.queries import origin_in_words, parents_behind_names

# One fixed mask makes a code in a quarter of the time; every reader reads all eight.
_QR_MASK = 2
# Letters of a name that fill four lines of the smallest label.
_LONG_NAME = 60


@dataclass(frozen=True)
class Label:
    """What one label says."""

    number: str
    name_text: str
    parents: str
    year: int
    seeds: str
    origin: str
    caution: str
    qr: SafeString

    @property
    def has_long_name(self) -> bool:
        return len(self.name_text) + len(self.parents) > _LONG_NAME


@dataclass(frozen=True)
class Placed:
    """A label and where it falls."""

    label: Label
    position: Position


def label_of(packet: Packet, caution: str, parents: str = "") -> Label:
    seeds = f"a pinch, about {packet.seeds}" if packet.is_pinch else f"{packet.seeds_left} seeds"
    return Label(
        number=packet.number,
        name_text=packet.lot.name_text,
        parents=parents,
        year=packet.lot.year,
        seeds=seeds,
        origin=packet.lot.get_origin_display(),
        caution=caution,
        qr=_code("packet", packet.number),
    )


def labels_pdf(packets: Sequence[Packet], sheet: LabelSheet, *, start_at: int = 1) -> bytes:
    """Lay the labels of packets out on sheets, beginning at a free place of the first."""
    lots = {packet.lot for packet in packets}
    cautions, parents = cautions_of_lots(lots), parents_behind_names(lots)
    placed = [
        Placed(label_of(packet, cautions[packet.lot_id], parents.get(packet.lot_id, "")), position)
        for packet, position in zip(
            packets, positions(sheet, len(packets), start_at=start_at), strict=True
        )
    ]
    pages = [list(page) for _number, page in groupby(placed, key=lambda each: each.position.page)]
    context = {"pages": pages, "sheet": sheet, "society_name": settings.SOCIETY_NAME}
    return render_pdf(render_to_string("print/labels.html", context), stylesheet="labels.css")


def donation_sheet_pdf(donation: Donation, lines: Sequence[DonationLine]) -> bytes:
    """The sheet a donor lays into the envelope: its number, what is in it, and a box to tick."""
    cautions = cautions_of_lots(line.lot for line in lines)
    context = {
        "donation": donation,
        "lines": [
            (line, origin_in_words(line.lot), cautions[line.lot_id], _code("lot", line.lot.number))
            for line in lines
        ],
        "society_name": settings.SOCIETY_NAME,
        "qr": _code("donation", donation.number),
    }
    return render_pdf(render_to_string("print/donation.html", context), stylesheet="donation.css")


def _code(what: str, number: str) -> SafeString:
    svg = qr_svg(
        f"{settings.SITE_ADDRESS}/s/{number}", title=f"Code of {what} {number}", mask=_QR_MASK
    )
    return mark_safe(svg)  # noqa: S308  our own drawing; the title is escaped by its maker
