"""Sowings with what was done to the seed, and counts."""

import re
from collections.abc import Sequence
from decimal import Decimal

from crosses.base.visibility import Visibility
from crosses.calc.errors import BadInput
from seedbank.bank.models import Packet
from seedbank.formats.tables import Column
from seedbank.members.models import Member
from seedbank.sowings.actions.count import record_count
from seedbank.sowings.actions.sowing import close_sowing, sow
from seedbank.sowings.models import Count, Pretreatment, Replicate, Sowing
from seedbank.transfer.cells import Cells, key_of
from seedbank.transfer.finding import lot_in, member_in
from seedbank.transfer.importing import NEW, SAME, BroughtBy, Kind

_STEP = re.compile(
    r"(?P<kind>[a-z ]+?)(?:\s+(?P<days>\d+(?:\.\d+)?)\s*d)?(?:\s+(?P<celsius>-?\d+(?:\.\d+)?)\s*C)?"
    r"(?:\s+(?P<ppm>\d+)\s*ppm)?",
    re.IGNORECASE,
)


def read_pretreatments(cells: Cells) -> list[Pretreatment]:
    """Read steps in order: `cold 28 d 4 C; gibberellic acid 200 ppm`."""
    kinds = {kind.replace("_", " "): kind for kind in Pretreatment.Kind.values}
    steps = []
    for step in cells.listed("pretreatments"):
        found = _STEP.fullmatch(step.replace("_", " "))
        if found is None or found["kind"].strip().casefold() not in kinds:
            raise BadInput(
                f"'{step}' is no step; write such as: cold 28 d 4 C. Known: {', '.join(kinds)}.",
                field="pretreatments",
            )
        steps.append(
            Pretreatment(
                kind=kinds[found["kind"].strip().casefold()],
                days=Decimal(found["days"]) if found["days"] else None,
                temperature_celsius=Decimal(found["celsius"]) if found["celsius"] else None,
                concentration_ppm=int(found["ppm"]) if found["ppm"] else None,
            )
        )
    return steps


def _packet(cells: Cells, grower: Member) -> Packet:
    """Return the packet of a number, or the first of a lot that the grower has in hand."""
    if cells.raw("packet"):
        packet = Packet.objects.filter(number=cells.text("packet")).first()
        if packet is None:
            raise BadInput(f"There is no packet {cells.text('packet')}.", field="packet")
        return packet
    lots = [
        Packet.objects.filter(holder=grower, seeds_left__gt=0, state__in=["with_member", "sent"])
    ]
    text = cells.needed("lot")
    seeds = cells.needed_whole("seeds_sown", minimum=1)
    if text == "any":
        packet = lots[0].filter(seeds_left__gte=seeds).order_by("number").first()
    else:
        lot = lot_in(cells, text, "lot")
        packet = lots[0].filter(lot=lot, seeds_left__gte=seeds).order_by("number").first()
    if packet is None:
        raise BadInput(f"{grower.name} has no packet of {text} with {seeds} seeds.", field="lot")
    return packet


def _sowing(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    grower = member_in(cells, "grower")
    key = key_of("sowing", grower.number, cells.needed("key"))
    if Sowing.objects.filter(client_key=key).exists():
        return SAME
    importing = cells.importing
    sowing = sow(
        packet=_packet(cells, grower),
        grower=grower,
        by=grower,
        at=importing.at,
        sown_on=cells.needed_day("sown_on"),
        seeds_sown=cells.needed_whole("seeds_sown", minimum=1),
        replicate_seeds=[int(part) for part in cells.listed("pots") if part.isdigit()],
        pretreatments=read_pretreatments(cells),
        client_key=key,
        where=cells.text("where"),
        medium=cells.text("medium"),
        light=cells.choice("light", Sowing.Light.values, ""),
        purpose=cells.choice("purpose", Sowing.Purpose.values, Sowing.Purpose.GROW),
        temperature_low_celsius=cells.decimal("temperature_low_celsius"),
        temperature_high_celsius=cells.decimal("temperature_high_celsius"),
        visibility=cells.choice("visibility", Visibility.values, Visibility.SOCIETY),
        note=cells.text("note"),
    )
    closed_on = cells.day("closed_on")
    if closed_on is not None:
        close_sowing(
            sowing=sowing,
            by=grower,
            at=importing.at,
            closed_on=closed_on,
            reason=cells.text("closed_reason"),
            left_fresh=cells.whole("left_fresh"),
            left_dead=cells.whole("left_dead"),
            left_abnormal=cells.whole("left_abnormal"),
        )
    return NEW


SOWINGS = Kind(
    name="sowings",
    title="Sowings",
    columns=(
        Column("key", ("pot", "sowing"), required=True),
        Column("packet"),
        Column("lot"),
        Column("grower"),
        Column("sown_on", ("date",), required=True),
        Column("seeds_sown", ("seeds",), required=True),
        Column("pots"),
        Column("pretreatments"),
        Column("where"),
        Column("medium"),
        Column("light"),
        Column("purpose"),
        Column("temperature_low_celsius"),
        Column("temperature_high_celsius"),
        Column("visibility"),
        Column("note"),
        Column("closed_on"),
        Column("closed_reason"),
        Column("left_fresh"),
        Column("left_dead"),
        Column("left_abnormal"),
    ),
    act=_sowing,
    told_apart_by=("key", "grower"),
    brought_by=BroughtBy.MEMBER,
)


def _count(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    grower = member_in(cells, "grower")
    text = cells.needed("sowing")
    sowing_key = key_of("sowing", grower.number, text)
    pots = Replicate.objects.select_related("sowing").filter(
        position=cells.whole("pot", minimum=1, default=1) or 1
    )
    pot = pots.filter(sowing__client_key=sowing_key).first()
    pot = pot or pots.filter(sowing__number=text, sowing__grower=grower).first()
    if pot is None:
        raise BadInput(f"{grower.name} has no such pot of sowing {text}.", field="sowing")
    day = cells.needed_day("counted_on")
    key = key_of("count", pot.pk, day)
    if Count.objects.filter(client_key=key).exists():
        return SAME
    record_count(
        replicate=pot,
        by=grower,
        at=cells.importing.at,
        counted_on=day,
        number=cells.needed_whole("number"),
        typed_as=cells.choice("typed_as", Count.TypedAs.values, Count.TypedAs.NEW),
        note=cells.text("note"),
        client_key=key,
    )
    return NEW


COUNTS = Kind(
    name="counts",
    title="Germination counts",
    columns=(
        Column("sowing", ("key",), required=True),
        Column("counted_on", ("date",), required=True),
        Column("number", ("seedlings", "count"), required=True),
        Column("typed_as"),
        Column("pot"),
        Column("grower"),
        Column("note"),
    ),
    act=_count,
    brought_by=BroughtBy.MEMBER,
)
