"""Rounds, their lists, and wish lists that came by post or from elsewhere."""

import datetime
from typing import Any

from django.utils import timezone

from crosses.calc.errors import BadInput
from seedbank.exchange.actions.listing import add_lines
from seedbank.exchange.actions.round import open_round
from seedbank.exchange.actions.wishes import save_wishes
from seedbank.exchange.models import ListLine, Round, WishList
from seedbank.formats.tables import Column, Shape
from seedbank.transfer.cells import Cells
from seedbank.transfer.finding import lot_in, lot_key, member_in, refuse_other_facts, round_in
from seedbank.transfer.kind import NOTHING_NEW, Group, Kind, Outcome, changed, made


def _evening(day: datetime.date) -> datetime.datetime:
    """Return the last minute of a day: what closes on a day is open on it."""
    return timezone.make_aware(datetime.datetime.combine(day, datetime.time(23, 59)))


def _morning(day: datetime.date) -> datetime.datetime:
    return timezone.make_aware(datetime.datetime.combine(day, datetime.time(8)))


def _round(rows: Group) -> Outcome:
    cells = rows[0]
    slug = cells.needed("slug")
    donations_close = cells.day("donations_close_on")
    facts: dict[str, Any] = {
        "name": cells.needed("name"),
        "posting_from": cells.day("posting_from"),
        "allowance": cells.whole("allowance", minimum=1, default=20),
        "donor_extra": cells.whole("donor_extra", default=10),
        "reserves": cells.whole("reserves", default=10),
        "kept_back": cells.whole("kept_back", default=0),
        "public_value_name": cells.text("public_value_name"),
        "rules_text": cells.text("rules_text"),
    }
    dates: dict[str, Any] = {
        "donations_close_at": _evening(donations_close) if donations_close else None,
        "list_opens_at": _morning(cells.needed_day("list_opens_on")),
        "wishes_close_at": _evening(cells.needed_day("wishes_close_on")),
    }
    known = Round.objects.filter(slug=slug).first()
    if known is not None:
        words = "This round is here already; it is changed on its page."
        refuse_other_facts(known, cells.said(facts), words)
        for field, moment in dates.items():
            column = f"{field.removesuffix('_at')}_on"
            if cells.has(column) and getattr(known, field) != moment:
                raise BadInput(words, field=column)
        return NOTHING_NEW
    opened = open_round(
        by=cells.importing.by,
        at=cells.importing.moment(donations_close),
        slug=slug,
        **facts,
        **dates,
    )
    return made(opened)


ROUNDS = Kind(
    name="rounds",
    title="Rounds",
    columns=(
        Column("slug", required=True, help="Short name in addresses, such as exchange-2027."),
        Column("name", required=True, help="What members read."),
        Column("donations_close_on", help="Last day of donations.", shape=Shape.DATE),
        Column("list_opens_on", required=True, help="The list opens.", shape=Shape.DATE),
        Column("wishes_close_on", required=True, help="Last day of wishes.", shape=Shape.DATE),
        Column("posting_from", help="Parcels go out from here on.", shape=Shape.DATE),
        Column("allowance", help="Packets a member; empty: 20.", shape=Shape.WHOLE, minimum=1),
        Column("donor_extra", help="More for a donor; empty: 10.", shape=Shape.WHOLE),
        Column("reserves", help="Reserve wishes; empty: 10.", shape=Shape.WHOLE),
        Column("kept_back", help="Packets of a lot kept back; empty: 0.", shape=Shape.WHOLE),
        Column("public_value_name", help="What the lot is drawn by."),
        Column("rules_text", help="The rules, as members read them."),
    ),
    act=_round,
)


def _line(rows: Group) -> Outcome:
    cells = rows[0]
    found = round_in(cells, "round")
    lots = [row.attempt(lot_in, row, row.needed("lot"), "lot") for row in rows]
    for row in rows:
        row.refuse_if_wrong()
    added = add_lines(
        round=found,
        lots=lots,
        by=cells.importing.by,
        at=cells.importing.moment(cells.day("listed_on")),
    )
    return made(*added) if added else NOTHING_NEW


LINES = Kind(
    name="lines",
    title="Lines of a list",
    columns=(
        Column("round", required=True, help="Short name of the round."),
        Column("lot", required=True, help="Key or number of the lot."),
        Column("listed_on", ("date",), help="The day it was listed.", shape=Shape.DATE),
    ),
    act=_line,
    grouped_by="round",
)


def _wishes(rows: Group) -> Outcome:
    cells = rows[0]
    found = cells.attempt(round_in, cells, "round")
    member = cells.attempt(member_in, cells, "member")
    cells.refuse_if_wrong()
    numbers = _line_numbers(found)
    main, reserve = (
        [cells.attempt(_number, text, numbers, column, cells) for text in cells.listed(column)]
        for column in ("main", "reserve")
    )
    cells.refuse_if_wrong()
    known = WishList.objects.filter(round=found, member=member).first()
    before: dict[str, Any] = {}
    if known is not None:
        wishes = known.wishes.order_by("rank").values_list("line__line_number", "is_reserve")
        before = {
            column: [number for number, is_reserve in wishes if is_reserve == (column == "reserve")]
            for column in ("main", "reserve")
        }
        if before == {"main": main, "reserve": reserve} and known.cancelled_at is None:
            return NOTHING_NEW
    wish_list = save_wishes(
        round=found,
        member=member,
        by=cells.importing.by,
        at=cells.importing.moment(cells.day("sent_on")),
        main=main,
        reserve=reserve,
    )
    return changed(wish_list, before) if known else made(wish_list)


def _line_numbers(found: Round) -> dict[str, int]:
    """Return the number of each line by itself, by its lot's number and by its lot's file key."""
    numbers: dict[str, int] = {}
    lines = ListLine.objects.filter(round=found).values_list(
        "line_number", "lot__number", "lot__client_key"
    )
    for line_number, lot_number, client_key in lines:
        numbers[str(line_number)] = numbers[lot_number] = line_number
        numbers[str(client_key)] = line_number
    return numbers


def _number(text: str, numbers: dict[str, int], column: str, cells: Cells) -> int:
    number = numbers.get(text) or numbers.get(str(lot_key(cells.importing.by, text)))
    if number is None:
        raise BadInput(f"{text} is not on this list.", field=column)
    return number


WISHES = Kind(
    name="wishes",
    title="Wish lists",
    columns=(
        Column("round", required=True, help="Short name of the round."),
        Column("member", help="Member number of who asks; empty: you."),
        Column(
            "main",
            ("wishes",),
            required=True,
            help="Line numbers or lots, the dearest first.",
            shape=Shape.SEVERAL,
        ),
        Column(
            "reserve",
            ("reserves",),
            help="What to send where the others are gone.",
            shape=Shape.SEVERAL,
        ),
        Column("sent_on", ("date",), help="The day the list came.", shape=Shape.DATE),
    ),
    act=_wishes,
    told_apart_by=("round", "member"),
)
