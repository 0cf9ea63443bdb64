"""Seed lots, their packets, and what was given to the bank."""

from collections.abc import Sequence
from typing import Any

from crosses.calc.errors import BadInput
from crosses.models import Harvest
from seedbank.bank.actions.donation import answer_line, offer
from seedbank.bank.actions.lot import add_lot, make_lot_from_harvest
from seedbank.bank.actions.packet import make_packets
from seedbank.bank.models import Donation, DonationLine, Lot, Movement
from seedbank.formats.tables import Column
from seedbank.members.models import Member
from seedbank.transfer.cells import Cells, key_of
from seedbank.transfer.finding import lot_in, lot_key, member_in, place_in, taxon_in
from seedbank.transfer.importing import NEW, SAME, BroughtBy, Kind


def _lot(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    key = lot_key(cells.importing.by, cells.needed("key"))
    if Lot.objects.filter(client_key=key).exists():
        return SAME
    importing = cells.importing
    owner = member_in(cells, "owner")
    if cells.raw("harvest"):
        harvest = Harvest.objects.filter(
            client_key=key_of("harvest", owner.number, cells.text("harvest"))
        ).first()
        if harvest is None:
            raise BadInput(f"{owner.name} has no harvest {cells.text('harvest')}.", field="harvest")
        make_lot_from_harvest(
            harvest=harvest, by=owner, at=importing.at, client_key=key, **_lot_facts(cells)
        )
        return NEW
    add_lot(
        raised_by=owner,
        owner=owner,
        by=owner,
        at=importing.at,
        client_key=key,
        name_text=cells.needed("name"),
        year=cells.needed_whole("year", minimum=1800),
        origin=cells.choice("origin", Lot.Origin.values, Lot.Origin.UNKNOWN),
        taxon=taxon_in(cells, "taxon"),
        seed_counting=cells.choice(
            "seed_counting", Lot.SeedCounting.values, Lot.SeedCounting.COUNTED
        ),
        seeds=cells.whole("seeds"),
        collected_on=cells.day("collected_on"),
        wild_where=cells.text("wild_where"),
        wild_country=cells.text("wild_country"),
        wild_permit=cells.text("wild_permit"),
        **_lot_facts(cells),
    )
    return NEW


def _lot_facts(cells: Cells) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "cleaned_on": cells.day("cleaned_on"),
        "drying_note": cells.text("drying_note"),
        "storage_temperature_celsius": cells.decimal("storage_temperature_celsius"),
        "storage_moisture_percent": cells.decimal("storage_moisture_percent"),
        "hazard_note": cells.text("hazard_note"),
        "note": cells.text("note"),
    }
    return {name: value for name, value in facts.items() if value not in (None, "")}


LOTS = Kind(
    name="lots",
    title="Seed lots",
    columns=(
        Column("key", ("lot",), required=True),
        Column("owner"),
        Column("harvest"),
        Column("name"),
        Column("year"),
        Column("origin"),
        Column("taxon"),
        Column("seed_counting"),
        Column("seeds"),
        Column("collected_on"),
        Column("wild_where"),
        Column("wild_country"),
        Column("wild_permit"),
        Column("cleaned_on"),
        Column("drying_note"),
        Column("storage_temperature_celsius"),
        Column("storage_moisture_percent"),
        Column("hazard_note"),
        Column("note"),
    ),
    act=_lot,
    told_apart_by=("key",),
    brought_by=BroughtBy.MEMBER,
)


def _packets(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    lot = lot_in(cells, cells.needed("lot"), "lot")
    how_many = cells.needed_whole("packets", minimum=1)
    seeds_each = cells.needed_whole("seeds_each", minimum=1)
    made_on = cells.day("made_on")
    note = cells.text("batch") or f"batch of {how_many} by {seeds_each}"
    if Movement.objects.filter(packet__lot=lot, kind=Movement.Kind.MADE, note=note).exists():
        return SAME
    make_packets(
        lot=lot,
        how_many=how_many,
        seeds_each=seeds_each,
        by=lot.owner or cells.importing.by,
        at=cells.importing.moment(made_on),
        place=place_in(cells, "place", lot.owner),
        is_pinch=cells.yes_no("is_pinch"),
        note=note,
    )
    return NEW


PACKETS = Kind(
    name="packets",
    title="Packets, by the batch",
    columns=(
        Column("lot", required=True),
        Column("packets", ("how many",), required=True),
        Column("seeds_each", ("seeds",), required=True),
        Column("batch"),
        Column("made_on", ("date",)),
        Column("place"),
        Column("is_pinch"),
    ),
    act=_packets,
    brought_by=BroughtBy.MEMBER,
)


def _donation(rows: Sequence[Cells]) -> str:
    """One envelope; each row is a lot in it, with the keeper's answer where there is one."""
    first = rows[0]
    donor = member_in(first, "donor")
    key = key_of("donation", first.importing.by.number, first.needed("key"))
    if Donation.objects.filter(client_key=key).exists():
        return SAME
    importing = first.importing
    lots = [lot_in(cells, cells.needed("lot"), "lot") for cells in rows]
    donation = offer(
        donor=donor,
        by=donor,
        at=importing.moment(first.day("offered_on")),
        lines=[
            (lot, cells.needed_whole("packets", minimum=1))
            for lot, cells in zip(lots, rows, strict=True)
        ],
        note=first.text("note"),
        client_key=key,
    )
    for lot, cells in zip(lots, rows, strict=True):
        _answer(donation, lot, cells, importing.by)
    return NEW


def _answer(donation: Donation, lot: Lot, cells: Cells, keeper: Member) -> None:
    answer = cells.choice("answer", DonationLine.Answer.values, DonationLine.Answer.WAITING)
    if answer == DonationLine.Answer.WAITING:
        return
    if not keeper.is_keeper:
        raise BadInput("Only a keeper answers a donation.", field="answer")
    answer_line(
        line=donation.lines.get(lot=lot),
        by=keeper,
        at=cells.importing.moment(cells.day("answered_on")),
        answer=answer,
        packets_received=cells.whole("packets_received", default=cells.whole("packets")),
        place=place_in(cells, "place", None),
        reason=cells.text("reason"),
    )


DONATIONS = Kind(
    name="donations",
    title="Donations",
    columns=(
        Column("key", ("donation",), required=True),
        Column("donor"),
        Column("lot", required=True),
        Column("packets", required=True),
        Column("offered_on", ("date",)),
        Column("answer"),
        Column("answered_on"),
        Column("packets_received"),
        Column("place"),
        Column("reason"),
        Column("note"),
    ),
    act=_donation,
    told_apart_by=("key",),
    brought_by=BroughtBy.MEMBER,
    grouped_by="key",
)
