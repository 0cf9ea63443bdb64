"""What was given to the bank."""

from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from seedbank.bank.actions.donation import answer_line, offer
from seedbank.bank.facts import DONATION
from seedbank.bank.models import Donation, DonationLine, Lot
from seedbank.formats.tables import Column, Shape
from seedbank.transfer.cells import Cells, key_of
from seedbank.transfer.facts import columns_of, read_facts
from seedbank.transfer.finding import lot_in, member_in, place_in, refuse_withdrawn_row
from seedbank.transfer.kind import NOTHING_NEW, BroughtBy, Group, Kind, Outcome, changed, made

Answer = DonationLine.Answer


def _donation(rows: Group) -> Outcome:
    """One envelope; each row is a lot in it, with the keeper's answer where there is one."""
    first = rows[0]
    importing = first.importing
    donor = member_in(first, "donor")
    key = key_of("donation", importing.by.number, first.needed("key"))
    lots = [cells.attempt(lot_in, cells, cells.needed("lot"), "lot") for cells in rows]
    for cells in rows:
        cells.attempt(_refuse_strangers_answer, cells)
    for cells in rows:
        cells.refuse_if_wrong()
    known = Donation.objects.filter(client_key=key).first()
    if known is not None:
        refuse_withdrawn_row(known, "donation", "key")
        return _answered_since(known, lots, rows)
    try:
        donation = offer(
            donor=donor,
            by=importing.by,
            at=importing.moment(first.day("offered_on")),
            lines=[
                (lot, cells.needed_whole("packets", minimum=1))
                for lot, cells in zip(lots, rows, strict=True)
            ],
            client_key=key,
            **read_facts(first, DONATION),
        )
    except Refused as no:
        raise _at_its_row(no, lots, rows) from no
    _answer_all(donation, lots, rows)
    return made(donation)


def _refuse_strangers_answer(cells: Cells) -> None:
    if _answer_in(cells) != Answer.WAITING and not cells.importing.by.is_keeper:
        raise BadInput("Only a keeper answers a donation.", field="answer")


def _answer_in(cells: Cells) -> str:
    return cells.choice("answer", Answer.values, Answer.WAITING)


def _at_its_row(no: Refused, lots: list[Lot], rows: Group) -> Refused:
    """Put a refusal of one lot of an offer at the row that names it."""
    for lot, cells in zip(lots, rows, strict=True):
        if no.field == f"packets_{lot.number}":
            cells.wrong.append(Refused(no.code, no.message, field="packets"))
        cells.refuse_if_wrong()
    return no


def _answer_all(donation: Donation, lots: list[Lot], rows: Group) -> list[DonationLine]:
    """Write down the keeper's answers of a table to lines that wait for one."""
    answered = []
    for lot, cells in zip(lots, rows, strict=True):
        if _answer_in(cells) == Answer.WAITING:
            continue
        line = donation.lines.filter(lot=lot, answer=Answer.WAITING).first()
        if line is not None:
            answered += [line] if cells.attempt(_answer, line, cells) else []
        cells.refuse_if_wrong()
    return answered


def _answer(line: DonationLine, cells: Cells) -> DonationLine:
    return answer_line(
        line=line,
        by=cells.importing.by,
        at=cells.importing.moment(cells.day("answered_on")),
        answer=_answer_in(cells),
        packets_received=cells.whole("packets_received", default=cells.whole("packets")),
        place=place_in(cells, "place", None),
        reason=cells.text("reason"),
    )


def _answered_since(known: Donation, lots: list[Lot], rows: Group) -> Outcome:
    """Take in the answers that came since; what was offered and answered stands."""
    lines = {line.lot_id: line for line in known.lines.all()}
    for lot, cells in zip(lots, rows, strict=True):
        line = lines.get(lot.pk)
        if line is None or line.packets_offered != cells.whole("packets"):
            words = "An offer is not changed by a table: withdraw it and offer it again."
            cells.wrong.append(BadInput(words, field="lot" if line is None else "packets"))
        elif line.answer != Answer.WAITING and cells.raw("answer") != line.answer:
            words = f"This line was answered: {line.get_answer_display()}. An answer stands."
            if cells.raw("answer"):
                cells.wrong.append(BadInput(words, field="answer"))
        cells.refuse_if_wrong()
    answered = _answer_all(known, lots, rows)
    return changed(known, {"answered": len(answered)}) if answered else NOTHING_NEW


DONATIONS = Kind(
    name="donations",
    title="Donations",
    columns=(
        Column(
            "key",
            ("donation",),
            required=True,
            help="Your name for the envelope. Rows with the same one are its lots.",
        ),
        Column("donor", help="Member number of who gives; empty: you."),
        Column("lot", required=True, help="Key or number of the lot."),
        Column("packets", required=True, help="Packets offered.", shape=Shape.WHOLE, minimum=1),
        Column("offered_on", ("date",), help="The day of the offer.", shape=Shape.DATE),
        Column(
            "answer",
            help="The keeper's answer; empty: waiting.",
            shape=Shape.CHOICE,
            choices=tuple(Answer.values),
        ),
        Column("answered_on", help="The day of the answer.", shape=Shape.DATE),
        Column(
            "packets_received",
            help="Packets that came; empty: as many as were offered.",
            shape=Shape.WHOLE,
        ),
        Column("place", help="Where they were put, by the code of the place."),
        Column("reason", help="Why it was declined; the donor reads it."),
        *columns_of(DONATION),
    ),
    act=_donation,
    told_apart_by=("key",),
    brought_by=BroughtBy.MEMBER,
    grouped_by="key",
)
