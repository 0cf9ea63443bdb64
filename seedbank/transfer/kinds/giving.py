"""Seed that a member gives, as a table: each row is a lot in the envelope that is open."""

from seedbank.bank.actions.giving import give_by_hand
from seedbank.bank.facts import OFFERED
from seedbank.bank.models import DonationLine, Lot
from seedbank.formats.tables import Column, Shape
from seedbank.transfer.cells import key_of
from seedbank.transfer.facts import columns_of, read_facts, said_facts
from seedbank.transfer.finding import (
    member_in,
    refuse_other_facts,
    refuse_withdrawn_row,
    taxon_in,
)
from seedbank.transfer.kind import NOTHING_NEW, BroughtBy, Group, Kind, Outcome, made

# What tells one row from another where the donor has no number of their own.
_NAME = ("key", "name", "year", "origin")
_IN_ITS_NAME = ("name_text", "year", "origin")


def _offer(rows: Group) -> Outcome:
    cells = rows[0]
    donor = cells.attempt(member_in, cells, "donor")
    taxon = cells.attempt(taxon_in, cells, "taxon")
    cells.refuse_if_wrong()
    facts = read_facts(cells, OFFERED, by_hand=_IN_ITS_NAME) | {"taxon": taxon}
    key = key_of("offer", donor.number, *(cells.raw(column) for column in _NAME))
    known = Lot.objects.filter(client_key=key).select_related("taxon").first()
    if known is not None:
        refuse_withdrawn_row(known, "lot", "name")
        words = f"It is in an envelope as {known.number}: correct that lot on its page."
        refuse_other_facts(known, said_facts(cells, OFFERED, facts), words)
        return NOTHING_NEW
    donation = give_by_hand(
        donor=donor,
        by=cells.importing.by,
        at=cells.importing.at,
        client_key=key,
        name_text=cells.needed("name"),
        year=cells.needed_whole("year", minimum=1800),
        origin=cells.choice("origin", Lot.Origin.values, Lot.Origin.UNKNOWN),
        packets=cells.needed_whole("packets", minimum=1),
        seeds_each=cells.needed_whole("seeds_each", minimum=1),
        **facts,
    )
    line = DonationLine.objects.select_related("lot").get(donation=donation, lot__client_key=key)
    return made(line.lot, *line.lot.packets.order_by("pk"), line)


OFFERS = Kind(
    name="offers",
    title="Seed you give",
    columns=(
        Column("name", ("seed", "what"), required=True, help="What it is, as on the packet."),
        Column(
            "year",
            ("harvest year",),
            required=True,
            help="Year of harvest.",
            shape=Shape.WHOLE,
            minimum=1800,
        ),
        Column(
            "packets",
            ("how many",),
            required=True,
            help="How many packets.",
            shape=Shape.WHOLE,
            minimum=1,
        ),
        Column(
            "seeds_each",
            ("seeds", "seeds a packet"),
            required=True,
            help="Seeds in each.",
            shape=Shape.WHOLE,
            minimum=1,
        ),
        Column(
            "origin",
            help="Where the seed comes from; empty: unknown.",
            shape=Shape.CHOICE,
            choices=tuple(Lot.Origin.values),
        ),
        Column("key", ("your number",), help="Your own number of the seed, if you have one."),
        Column("taxon", help="Its species, as in the society's list of taxa."),
        *columns_of(OFFERED, by_hand=_IN_ITS_NAME),
        Column("donor", help="Member number of who gives; empty: you."),
    ),
    act=_offer,
    told_apart_by=("name", "year", "origin", "key"),
    brought_by=BroughtBy.MEMBER,
)
