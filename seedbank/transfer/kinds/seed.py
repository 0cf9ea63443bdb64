"""Seed lots, and their packets."""

from collections.abc import Sequence
from typing import Any

from crosses.calc.errors import BadInput
from crosses.models import Harvest
from seedbank.bank.actions.lot import add_lot, add_lots, change_lot, make_lot_from_harvest
from seedbank.bank.actions.packet import make_packets
from seedbank.bank.facts import LOT, PACKET
from seedbank.bank.models import Lot, Movement, Packet
from seedbank.formats.tables import Column, Shape
from seedbank.members.models import Member
from seedbank.transfer.cells import Cells, key_of
from seedbank.transfer.facts import columns_of, read_facts, said_facts
from seedbank.transfer.finding import (
    changed_facts,
    facts_before,
    lot_in,
    lot_key,
    member_in,
    members_in,
    place_in,
    refuse_withdrawn_row,
    taxa_in,
    taxon_in,
)
from seedbank.transfer.kind import NOTHING_NEW, BroughtBy, Group, Kind, Outcome, changed, made

# A lot of a harvest has these from the harvest.
_FROM_HARVEST = (
    "name_text",
    "year",
    "origin",
    "taxon",
    "seed_counting",
    "seeds",
    "collected_on",
)
# A harvest may have told them, so that they are not needed in every row.
_NAMED = ("name_text", "year")


def _plain_facts(cells: Cells) -> dict[str, Any]:
    """Read what a row says of a lot by itself, without other records."""
    counted = Lot.SeedCounting.COUNTED if cells.raw("seeds") else Lot.SeedCounting.NOT_YET
    return read_facts(cells, LOT, by_hand=_NAMED) | {
        "name_text": cells.text("name"),
        "year": cells.whole("year", minimum=1800),
        "seed_counting": cells.choice("seed_counting", Lot.SeedCounting.values, counted),
    }


def _lot(rows: Group) -> Outcome:
    cells = rows[0]
    key = lot_key(cells.importing.by, cells.needed("key"))
    owner = member_in(cells, "owner")
    facts = cells.attempt(_plain_facts, cells) or {}
    facts["taxon"] = cells.attempt(taxon_in, cells, "taxon")
    harvest = cells.attempt(_harvest, cells, owner)
    cells.refuse_if_wrong()
    known = Lot.objects.filter(client_key=key).select_related("taxon").first()
    if known is not None:
        refuse_withdrawn_row(known, "lot", "key")
        return _corrected(cells, known, facts)
    if harvest is not None:
        return made(_from_harvest(cells, harvest, facts))
    for column, fact in (("name", "name_text"), ("year", "year")):
        if facts[fact] in (None, ""):
            cells.wrong.append(BadInput("This cell is empty; it is needed.", field=column))
    cells.refuse_if_wrong()
    lot = add_lot(
        raised_by=owner,
        owner=owner,
        by=cells.importing.by,
        at=cells.importing.at,
        client_key=key,
        **facts,
    )
    return made(lot)


def _harvest(cells: Cells, owner: Member) -> Harvest | None:
    text = cells.text("harvest")
    if not text:
        return None
    key = key_of("harvest", owner.number, text)
    own = Harvest.objects.filter(cross__grower=owner, withdrawn_at=None)
    found = own.filter(client_key=key).first() or own.filter(number=text).first()
    if found is None:
        raise BadInput(f"{owner.name} has no harvest {text}.", field="harvest")
    return found


def _from_harvest(cells: Cells, harvest: Harvest, facts: dict[str, Any]) -> Lot:
    own = {name: value for name, value in facts.items() if name not in _FROM_HARVEST}
    return make_lot_from_harvest(
        harvest=harvest,
        by=cells.importing.by,
        at=cells.importing.at,
        client_key=lot_key(cells.importing.by, cells.needed("key")),
        **{name: value for name, value in own.items() if value not in (None, "")},
    )


def _said(cells: Cells, known: Lot, facts: dict[str, Any]) -> dict[str, Any]:
    """Keep what the file says of a lot that is here; what a harvest told is not told anew."""
    said = said_facts(cells, LOT, facts)
    if known.harvest_id is not None:
        said = {name: value for name, value in said.items() if name not in _FROM_HARVEST}
        # What the file leaves empty the harvest may have filled.
        said = {name: value for name, value in said.items() if value not in (None, "")}
    if "seeds" in said:
        said["seed_counting"] = facts["seed_counting"]
    return said


def _corrected(cells: Cells, known: Lot, facts: dict[str, Any]) -> Outcome:
    said = _said(cells, known, facts)
    before = facts_before(known, said)
    if not before:
        return NOTHING_NEW
    importing = cells.importing
    new = changed_facts(known, said)
    if "seeds" in new:
        # The interval of another number does not hold this one.
        before |= {"seeds_low": known.seeds_low, "seeds_high": known.seeds_high}
        new |= {"seeds_low": None, "seeds_high": None}
    change_lot(lot=known, by=importing.by, at=importing.at, why="imported again", **new)
    return changed(known, before)


def _lots(groups: Sequence[Group]) -> list[Outcome | None]:
    """Carry out the lots that come from no harvest, in a few queries."""
    rows = [group[0] for group in groups]
    importing = rows[0].importing
    owners = members_in(rows, "owner")
    taxa = taxa_in(rows, "taxon")
    keys = [lot_key(importing.by, cells.needed("key")) for cells in rows]
    known = {
        lot.client_key: lot
        for lot in Lot.objects.filter(client_key__in=keys).select_related("taxon")
    }
    outcomes: list[Outcome | None] = [None] * len(groups)
    fresh: dict[int, Lot] = {}
    for place, (cells, key) in enumerate(zip(rows, keys, strict=True)):
        owner, taxon = owners.get(cells.raw("owner")), taxa.get(cells.raw("taxon"))
        if owner is None or (cells.raw("taxon") and taxon is None):
            continue
        facts = {**_plain_facts(cells), "taxon": taxon}
        there = known.get(key)
        if there is not None:
            is_same = not there.is_withdrawn and not changed_facts(
                there, _said(cells, there, facts)
            )
            outcomes[place] = NOTHING_NEW if is_same else None
        elif facts["name_text"] and facts["year"] and not cells.raw("harvest"):
            fresh[place] = Lot(raised_by=owner, owner=owner, client_key=key, **facts)
    if fresh:
        add_lots(lots=list(fresh.values()), by=importing.by, at=importing.at)
    return [
        made(fresh[place]) if place in fresh else outcome for place, outcome in enumerate(outcomes)
    ]


LOTS = Kind(
    name="lots",
    title="Seed lots",
    columns=(
        Column(
            "key",
            ("lot",),
            required=True,
            help="Your name for the lot; a lot of the same one is corrected, not added.",
        ),
        Column("owner", help="Member number of whose it is; empty: you."),
        Column("harvest", help="Key or number of the harvest it is from, if that is recorded."),
        Column("name", help="What it is, as written on the packet; needed without a harvest."),
        Column(
            "year",
            help="Year of harvest; needed without a harvest.",
            shape=Shape.WHOLE,
            minimum=1800,
        ),
        Column("taxon", help="Its species, as in the society's list of taxa."),
        *columns_of(LOT, by_hand=_NAMED),
    ),
    act=_lot,
    many=_lots,
    told_apart_by=("key",),
    brought_by=BroughtBy.MEMBER,
)


def _packets(rows: Group) -> Outcome:
    cells = rows[0]
    lot = cells.attempt(lot_in, cells, cells.needed("lot"), "lot")
    place = cells.attempt(place_in, cells, "place", lot.owner if lot else None)
    cells.refuse_if_wrong()
    how_many = cells.needed_whole("packets", minimum=1)
    seeds_each = cells.needed_whole("seeds_each", minimum=1)
    note = cells.text("batch") or f"batch of {how_many} by {seeds_each}"
    there = list(
        Packet.objects.filter(
            lot=lot,
            movements__kind=Movement.Kind.MADE,
            movements__note=note,
        ).exclude(state=Packet.State.DISCARDED)
    )
    if there:
        if len(there) != how_many or any(packet.seeds != seeds_each for packet in there):
            raise BadInput(
                f"This batch is here as {len(there)} packets of {there[0].seeds} seeds; packets "
                "are split or discarded by their numbers. Another batch needs another name.",
                field="packets",
            )
        return NOTHING_NEW
    packets = make_packets(
        lot=lot,
        how_many=how_many,
        seeds_each=seeds_each,
        by=cells.importing.by,
        at=cells.importing.moment(cells.day("made_on")),
        place=place,
        note=note,
        **read_facts(cells, PACKET),
    )
    return made(*packets)


PACKETS = Kind(
    name="packets",
    title="Packets, by the batch",
    columns=(
        Column("lot", required=True, help="Key or number of the lot."),
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
            ("seeds",),
            required=True,
            help="Seeds in each.",
            shape=Shape.WHOLE,
            minimum=1,
        ),
        Column("batch", help="Your name for the batch; two of the same number need one each."),
        Column("made_on", ("date",), help="The day they were filled.", shape=Shape.DATE),
        Column("place", help="Where they lie, by the code of the place."),
        *columns_of(PACKET),
    ),
    act=_packets,
    brought_by=BroughtBy.MEMBER,
)
