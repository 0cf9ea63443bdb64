"""Sowings with what was done to the seed, and counts."""

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from crosses.calc.errors import BadInput
from seedbank.bank.models import Packet
from seedbank.formats.tables import Column, Shape
from seedbank.members.models import Member
from seedbank.sowings.actions.count import forget_count_key, record_count, withdraw_count
from seedbank.sowings.actions.many_counts import record_new_counts
from seedbank.sowings.actions.sowing import close_sowing, sow
from seedbank.sowings.facts import COUNT, SOWING
from seedbank.sowings.models import Count, Pretreatment, Replicate, Sowing
from seedbank.transfer.cells import Cells, key_of
from seedbank.transfer.facts import columns_of, read_facts, said_facts
from seedbank.transfer.finding import (
    facts_before,
    lot_in,
    member_in,
    members_in,
    refuse_other_facts,
    refuse_withdrawn_row,
)
from seedbank.transfer.kind import NOTHING_NEW, BroughtBy, Group, Kind, Outcome, changed, made

# Read by hand: empty is new.
_TYPED_AS = ("typed_as",)
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


def _pots(cells: Cells) -> list[int]:
    pots = []
    for part in cells.listed("pots"):
        if not (part.isascii() and part.isdigit() and int(part)):
            raise BadInput(
                f"'{part}' is no number of seeds; write the seeds of each pot: 25; 25.",
                field="pots",
            )
        pots.append(int(part))
    return pots


def _packet(cells: Cells, grower: Member) -> Packet:
    """Return the packet of a number, or the first of a lot that the grower has in hand."""
    if cells.raw("packet"):
        packet = Packet.objects.filter(number=cells.text("packet")).first()
        if packet is None:
            raise BadInput(f"There is no packet {cells.text('packet')}.", field="packet")
        return packet
    text = cells.text("lot")
    if not text:
        raise BadInput("This cell is empty; which packet or lot was sown?", field="packet")
    seeds = cells.needed_whole("seeds_sown", minimum=1)
    packets = Packet.objects.filter(
        holder=grower,
        seeds_left__gte=seeds,
        state__in=[Packet.State.WITH_MEMBER, Packet.State.SENT],
    )
    # The demo's members sow of whatever they were given; nobody else's file may leave it open.
    if text != "any" or not cells.importing.is_demo:
        packets = packets.filter(lot=lot_in(cells, text, "lot"))
    packet = packets.order_by("number").first()
    if packet is None:
        raise BadInput(f"{grower.name} has no packet of {text} with {seeds} seeds.", field="lot")
    return packet


def _sowing(rows: Group) -> Outcome:
    cells = rows[0]
    grower = member_in(cells, "grower")
    key = key_of("sowing", grower.number, cells.needed("key"))
    pots = cells.attempt(_pots, cells)
    pretreatments = cells.attempt(read_pretreatments, cells)
    facts = read_facts(cells, SOWING)
    known = Sowing.objects.filter(client_key=key).first()
    if known is not None:
        cells.refuse_if_wrong()
        refuse_withdrawn_row(known, "sowing", "key")
        words = "What was sown is not changed by a table: withdraw the sowing and log it again."
        refuse_other_facts(known, said_facts(cells, SOWING, facts), words)
        if pots and pots != list(known.replicates.values_list("seeds", flat=True)):
            raise BadInput(words, field="pots")
        return _closed_since(cells, known)
    packet = cells.attempt(_packet, cells, grower)
    cells.refuse_if_wrong()
    sowing = sow(
        packet=packet,
        grower=grower,
        by=cells.importing.by,
        # The movement of the packet stands at the day of the sowing.
        at=cells.importing.moment(facts["sown_on"]),
        replicate_seeds=pots,
        pretreatments=pretreatments,
        client_key=key,
        **facts,
    )
    if cells.day("closed_on") is not None:
        _close(cells, sowing)
    return made(sowing)


def _close(cells: Cells, sowing: Sowing) -> Sowing:
    return close_sowing(
        sowing=sowing,
        by=cells.importing.by,
        at=cells.importing.at,
        closed_on=cells.needed_day("closed_on"),
        reason=cells.text("closed_reason"),
        left_fresh=cells.whole("left_fresh"),
        left_dead=cells.whole("left_dead"),
        left_abnormal=cells.whole("left_abnormal"),
    )


def _closed_since(cells: Cells, known: Sowing) -> Outcome:
    """Take in that a sowing was closed since; opening it again is for its page."""
    closed_on = cells.day("closed_on")
    if closed_on is None or closed_on == known.closed_on:
        return NOTHING_NEW
    if known.closed_on is not None:
        raise BadInput(
            f"It was closed on {known.closed_on}; open it again on its page first.",
            field="closed_on",
        )
    return changed(_close(cells, known), {"closed_on": None})


SOWINGS = Kind(
    name="sowings",
    title="Sowings",
    columns=(
        Column(
            "key",
            ("pot", "sowing"),
            required=True,
            help="Your name for the sowing; the counts name it again.",
        ),
        Column("packet", help="Number of the packet that was sown."),
        Column("lot", help="Without a packet's number: key or number of its lot."),
        Column("grower", help="Member number of who sowed; empty: you."),
        *columns_of(SOWING),
        Column("pots", help="Seeds of each pot: 25; 25. Empty: one pot.", shape=Shape.SEVERAL),
        Column(
            "pretreatments",
            help="What was done before, in order: cold 28 d 4 C; gibberellic acid 200 ppm.",
            shape=Shape.SEVERAL,
        ),
        Column("closed_on", help="The day it was given up or done.", shape=Shape.DATE),
        Column("closed_reason", help="Why it was closed."),
        Column("left_fresh", help="Seeds left that were firm.", shape=Shape.WHOLE),
        Column("left_dead", help="Seeds left that were dead.", shape=Shape.WHOLE),
        Column("left_abnormal", help="Seedlings that were abnormal.", shape=Shape.WHOLE),
    ),
    act=_sowing,
    told_apart_by=("key", "grower"),
    brought_by=BroughtBy.MEMBER,
)


def _count(rows: Group) -> Outcome:
    cells = rows[0]
    importing = cells.importing
    grower = member_in(cells, "grower")
    pot = _pot(cells, grower)
    number = cells.needed_whole("number")
    typed_as = cells.choice("typed_as", Count.TypedAs.values, Count.TypedAs.NEW)
    facts = read_facts(cells, COUNT, by_hand=_TYPED_AS)
    key = key_of("count", pot.pk, facts["counted_on"])
    known = Count.objects.filter(client_key=key).first()
    if known is not None:
        refuse_withdrawn_row(known, "count", "number")
        told = _told(cells, facts, number, typed_as)
        before = facts_before(known, told)
        if not before:
            return NOTHING_NEW
        before = {name: getattr(known, name) for name in (*told, *facts)}
        # What the file has no column for stands as it was.
        facts = {name: told.get(name, getattr(known, name)) for name in facts}
        forget_count_key(count=known, by=importing.by)
        withdraw_count(count=known, by=importing.by, at=importing.at, reason="imported again")
    count = record_count(
        replicate=pot,
        by=importing.by,
        at=importing.at,
        number=number,
        typed_as=typed_as,
        client_key=key,
        **facts,
    )
    return made(count) if known is None else changed(count, before)


def _told(cells: Cells, facts: dict[str, Any], number: int, typed_as: str) -> dict[str, Any]:
    return said_facts(cells, COUNT, facts) | {"typed_number": number, "typed_as": typed_as}


def _pot(cells: Cells, grower: Member) -> Replicate:
    text = cells.needed("sowing")
    key = key_of("sowing", grower.number, text)
    pots = Replicate.objects.select_related("sowing").filter(
        position=cells.whole("pot", minimum=1, default=1) or 1
    )
    pot = pots.filter(sowing__client_key=key).first()
    pot = pot or pots.filter(sowing__number=text, sowing__grower=grower).first()
    if pot is None:
        raise BadInput(f"{grower.name} has no such pot of sowing {text}.", field="sowing")
    return pot


def _counts(groups: Sequence[Group]) -> list[Outcome | None]:
    """Carry out the looks for new seedlings, in a few queries."""
    rows = [group[0] for group in groups]
    importing = rows[0].importing
    pots = _pots_of(rows)
    keys = [
        key_of("count", pot.pk, cells.day("counted_on")) if pot else None
        for pot, cells in zip(pots, rows, strict=True)
    ]
    known = {count.client_key: count for count in Count.objects.filter(client_key__in=keys)}
    outcomes: list[Outcome | None] = [None] * len(groups)
    fresh: dict[int, Count] = {}
    for place, (cells, pot, key) in enumerate(zip(rows, pots, keys, strict=True)):
        if pot is None:
            continue
        number = cells.needed_whole("number")
        typed_as = cells.choice("typed_as", Count.TypedAs.values, Count.TypedAs.NEW)
        facts = read_facts(cells, COUNT, by_hand=_TYPED_AS)
        there = known.get(key)
        if there is not None:
            told = _told(cells, facts, number, typed_as)
            is_same = not there.is_withdrawn and not facts_before(there, told)
            outcomes[place] = NOTHING_NEW if is_same else None
        elif typed_as == Count.TypedAs.NEW:
            fresh[place] = Count(
                replicate=pot,
                newly_seen=number,
                typed_as=typed_as,
                typed_number=number,
                logged_by=importing.by,
                logged_at=importing.at,
                client_key=key,
                **facts,
            )
    left = record_new_counts(counts=list(fresh.values()), by=importing.by, at=importing.at)
    for place, count in fresh.items():
        outcomes[place] = made(count) if id(count) not in left else None
    return outcomes


def _pots_of(rows: Sequence[Cells]) -> list[Replicate | None]:
    """Find the pot of each row by the key or the number of its sowing, in two queries."""
    growers = members_in(rows, "grower")
    named = []
    for cells in rows:
        grower = growers.get(cells.raw("grower"))
        text = cells.text("sowing")
        key = key_of("sowing", grower.number, text) if grower else None
        named.append((grower, text, key))
    pots = Replicate.objects.select_related("sowing")
    by_key = {
        (pot.sowing.client_key, pot.position): pot
        for pot in pots.filter(sowing__client_key__in={key for _grower, _text, key in named if key})
    }
    by_number = {
        (pot.sowing.number, pot.sowing.grower_id, pot.position): pot
        for pot in pots.filter(sowing__number__in={text for _grower, text, _key in named})
    }
    found: list[Replicate | None] = []
    for cells, (grower, text, key) in zip(rows, named, strict=True):
        position = cells.whole("pot", minimum=1, default=1) or 1
        pot = by_key.get((key, position)) if key else None
        found.append(pot or (by_number.get((text, grower.pk, position)) if grower else None))
    return found


COUNTS = Kind(
    name="counts",
    title="Germination counts",
    columns=(
        Column("sowing", ("key",), required=True, help="Key or number of the sowing."),
        *columns_of(COUNT, by_hand=_TYPED_AS),
        Column(
            "number",
            ("seedlings", "count"),
            required=True,
            help="Seedlings; 0 where a look found nothing new.",
            shape=Shape.WHOLE,
        ),
        Column(
            "typed_as",
            help="New since the last look, or all so far; empty: new.",
            shape=Shape.CHOICE,
            choices=tuple(Count.TypedAs.values),
        ),
        Column("pot", help="Which pot; empty: the first.", shape=Shape.WHOLE, minimum=1),
        Column("grower", help="Member number of whose sowing it is; empty: you."),
    ),
    act=_count,
    many=_counts,
    told_apart_by=("sowing", "pot", "counted_on", "grower"),
    brought_by=BroughtBy.MEMBER,
)
