"""Papers of many parcels, one file or one a parcel, and the printed list: made in the background."""

import shutil
import zipfile
from collections.abc import Sequence
from pathlib import Path

from pypdf import PdfWriter

from crosses.base.clock import now, today
from crosses.base.pdf_many import Document, render_many
from crosses.base.refusal import Refused
from seedbank.exchange.access import (
    keys_with_address,
    may_keep,
    may_pack,
    may_read_list,
    parcels_visible_to,
    round_for_reading,
)
from seedbank.exchange.actions.result_mail import RESULT_MAILS, mail_results
from seedbank.exchange.catalogue import catalogue_html, kept_catalogue, lay_out_catalogue
from seedbank.exchange.models import Parcel
from seedbank.exchange.queries.catalogue import catalogue_of
from seedbank.exchange.queries.customs import customs_papers
from seedbank.exchange.queries.slip import slips_for
from seedbank.exchange.slip import customs_html, slip_html
from seedbank.jobs.registry import register
from seedbank.jobs.work import Work
from seedbank.members.models import Member

PARCEL_PAPERS = "parcel-papers"
CATALOGUE = "catalogue"


def print_papers(work: Work) -> str:
    """Print the slips or customs papers of the parcels named, each to a file, then put together.

    A parcel whose file is there is not printed again, so that work broken off goes on.
    """
    what = work.arguments["what"]
    parcels = list(
        parcels_visible_to(work.asked_by)
        .filter(number__in=work.arguments["numbers"], cancelled_at=None)
        .order_by("number")
    )
    pieces = work.folder / "pieces"
    pieces.mkdir(exist_ok=True)
    documents = _documents(what, parcels, work.asked_by, pieces)
    if not documents:
        raise Refused("nothing-to-print", "None of these parcels needs such a paper.")
    paths = [path for path, _html, _style in documents]
    left = [document for document in documents if not document[0].exists()]
    done = len(documents) - len(left)
    # Putting them together is the last step.
    work.tell(done, len(documents) + 1)
    for _path in render_many(left, len(left)):
        done += 1
        work.tell(done)
    if work.arguments["shape"] == "each":
        _zip(paths, work.result(f"{what}.zip"))
    else:
        join_files(paths, work.result(f"{what}.pdf"))
    for path in paths:
        path.unlink()
    return f"{len(paths)} parcel{'s' if len(paths) > 1 else ''} printed."


def print_catalogue(work: Work) -> str:
    """Lay the list of a round out, unless it is laid out as it stands."""
    found = round_for_reading(work.asked_by, work.arguments["round"])
    if not may_read_list(work.asked_by, found, now()):
        raise Refused("list-not-open", "The list is not open yet.")
    catalogue = catalogue_of(found, today().year)
    html = catalogue_html(catalogue)
    kept = kept_catalogue(html, found.slug) or lay_out_catalogue(html, found.slug)
    shutil.copyfile(kept, work.result(f"{found.slug}-list.pdf"))
    return f"{catalogue.lines} lines are laid out."


def _documents(
    what: str, parcels: Sequence[Parcel], reader: Member, folder: Path
) -> list[Document]:
    seen = keys_with_address(reader, parcels)
    if what == "customs":
        return [
            (folder / f"{paper.parcel_number}.pdf", customs_html(paper), "customs.css")
            for paper in customs_papers(parcels, with_address=seen)
        ]
    return [
        (folder / f"{slip.parcel_number}.pdf", slip_html(slip), "slip.css")
        for slip in slips_for(parcels, reader, with_address=seen)
    ]


def _zip(paths: Sequence[Path], to: Path) -> None:
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as folder:
        for path in paths:
            folder.write(path, path.name)


def join_files(paths: Sequence[Path], to: Path) -> None:
    """Join files for the printer; their tags do not survive it, and the page says so."""
    writer = PdfWriter()
    for path in paths:
        writer.append(path, import_outline=False)
    writer.compress_identical_objects()
    writer.write(to)


register(RESULT_MAILS, mail_results, may=may_keep)
register(PARCEL_PAPERS, print_papers, may=may_pack)
# The printed list is every member's; whether it is open yet is asked of each round.
register(CATALOGUE, print_catalogue, may=lambda _user: True)
