"""Seed that a member gives, as a table: each row is a lot in the envelope that is open."""

from collections.abc import Sequence

from seedbank.bank.actions.giving import give_by_hand
from seedbank.bank.models import Lot
from seedbank.formats.tables import Column
from seedbank.transfer.cells import Cells, key_of
from seedbank.transfer.finding import member_in, taxon_in
from seedbank.transfer.importing import NEW, SAME, BroughtBy, Kind

# What tells one row from another where the donor has no number of their own.
_NAME = ("key", "name", "year", "origin")


def _offer(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    donor = member_in(cells, "donor")
    key = key_of("offer", donor.number, *(cells.raw(column) for column in _NAME))
    if Lot.objects.filter(client_key=key).exists():
        return SAME
    give_by_hand(
        donor=donor,
        by=cells.importing.by,
        at=cells.importing.at,
        client_key=key,
        name_text=cells.needed("name"),
        year=cells.needed_whole("year", minimum=1800),
        origin=cells.choice("origin", Lot.Origin.values, Lot.Origin.UNKNOWN),
        packets=cells.needed_whole("packets", minimum=1),
        seeds_each=cells.needed_whole("seeds_each", minimum=1),
        taxon=taxon_in(cells, "taxon"),
        wild_where=cells.text("wild_where"),
        wild_country=cells.text("wild_country"),
        wild_permit=cells.text("wild_permit"),
        hazard_note=cells.text("hazard_note"),
        note=cells.text("note"),
    )
    return NEW


OFFERS = Kind(
    name="offers",
    title="Seed you give",
    columns=(
        Column("name", ("seed", "what"), required=True),
        Column("year", ("harvest year",), required=True),
        Column("packets", ("how many",), required=True),
        Column("seeds_each", ("seeds", "seeds a packet"), required=True),
        Column("origin"),
        Column("key", ("your number",)),
        Column("taxon"),
        Column("wild_where"),
        Column("wild_country"),
        Column("wild_permit"),
        Column("hazard_note", ("caution",)),
        Column("note"),
        Column("donor"),
    ),
    act=_offer,
    told_apart_by=("name", "year", "origin", "key"),
    brought_by=BroughtBy.MEMBER,
)
