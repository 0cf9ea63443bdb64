"""Address labels, for parcels in hand only: what each says, then HTML, then the PDF."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from django.template.loader import render_to_string

from crosses.base.pdf import render_pdf
from crosses.formats.labelsheet import LabelSheet, Position, positions
from seedbank.exchange.models import Parcel
from seedbank.exchange.queries.slip import AddressLine, address_lines_of


@dataclass(frozen=True, slots=True)
class AddressLabel:
    """The address of one parcel; its number ties label and slip together."""

    parcel_number: str
    lines: tuple[AddressLine, ...]


@dataclass(frozen=True, slots=True)
class Placed:
    """A label and where it falls."""

    label: AddressLabel
    position: Position


def address_labels(parcels: Iterable[Parcel]) -> list[AddressLabel]:
    """Return the labels of parcels whose address the reader may see; access says which."""
    known = list(parcels)
    lines = address_lines_of(known, {parcel.pk for parcel in known})
    return [AddressLabel(parcel.number, lines[parcel.pk]) for parcel in known]


def address_labels_pdf(
    labels: Sequence[AddressLabel], sheet: LabelSheet, *, start_at: int = 1
) -> bytes:
    places = positions(sheet, len(labels), start_at=start_at)
    placed = [Placed(label, place) for label, place in zip(labels, places, strict=True)]
    pages = [list(page) for _number, page in groupby(placed, key=lambda one: one.position.page)]
    html = render_to_string("print/addresses.html", {"pages": pages, "sheet": sheet})
    return render_pdf(html, stylesheet="addresses.css")
