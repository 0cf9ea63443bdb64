"""Rounds, their lists, and wish lists that came by post or from elsewhere."""

import datetime
from collections.abc import Sequence

from django.utils import timezone

from crosses.calc.errors import BadInput
from seedbank.exchange.actions.listing import add_lines
from seedbank.exchange.actions.round import open_round
from seedbank.exchange.actions.wishes import save_wishes
from seedbank.exchange.models import ListLine, Round, WishList
from seedbank.formats.tables import Column
from seedbank.members.models import Member
from seedbank.transfer.cells import Cells
from seedbank.transfer.finding import lot_in, lot_key, member_in, round_in
from seedbank.transfer.importing import CHANGED, NEW, SAME, Kind


def _evening(day: datetime.date) -> datetime.datetime:
    """Return the last minute of a day: what closes on a day is open on it."""
    return timezone.make_aware(datetime.datetime.combine(day, datetime.time(23, 59)))


def _morning(day: datetime.date) -> datetime.datetime:
    return timezone.make_aware(datetime.datetime.combine(day, datetime.time(8)))


def _round(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    slug = cells.needed("slug")
    if Round.objects.filter(slug=slug).exists():
        return SAME
    donations_close = cells.day("donations_close_on")
    open_round(
        by=cells.importing.by,
        at=cells.importing.moment(donations_close),
        slug=slug,
        name=cells.needed("name"),
        donations_close_at=_evening(donations_close) if donations_close else None,
        list_opens_at=_morning(cells.needed_day("list_opens_on")),
        wishes_close_at=_evening(cells.needed_day("wishes_close_on")),
        posting_from=cells.day("posting_from"),
        allowance=cells.whole("allowance", minimum=1, default=20),
        donor_extra=cells.whole("donor_extra", default=10),
        reserves=cells.whole("reserves", default=10),
        kept_back=cells.whole("kept_back", default=0),
        public_value_name=cells.text("public_value_name"),
        rules_text=cells.text("rules_text"),
    )
    return NEW


ROUNDS = Kind(
    name="rounds",
    title="Rounds",
    columns=(
        Column("slug", required=True),
        Column("name", required=True),
        Column("donations_close_on"),
        Column("list_opens_on", required=True),
        Column("wishes_close_on", required=True),
        Column("posting_from"),
        Column("allowance"),
        Column("donor_extra"),
        Column("reserves"),
        Column("kept_back"),
        Column("public_value_name"),
        Column("rules_text"),
    ),
    act=_round,
)


def _line(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    found = round_in(cells, "round")
    lots = [lot_in(row, row.needed("lot"), "lot") for row in rows]
    made = add_lines(
        round=found,
        lots=lots,
        by=cells.importing.by,
        at=cells.importing.moment(cells.day("listed_on")),
    )
    return NEW if made else SAME


LINES = Kind(
    name="lines",
    title="Lines of a list",
    columns=(
        Column("round", required=True),
        Column("lot", required=True),
        Column("listed_on", ("date",)),
    ),
    act=_line,
    grouped_by="round",
)


def _wishes(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    found = round_in(cells, "round")
    member = member_in(cells, "member")
    numbers = _line_numbers(found)
    main, reserve = (
        [_number(text, numbers, column, cells.importing.by) for text in cells.listed(column)]
        for column in ("main", "reserve")
    )
    known = WishList.objects.filter(round=found, member=member).first()
    if known is not None:
        asked = list(known.wishes.order_by("rank").values_list("line__line_number", flat=True))
        if asked == [*main, *reserve]:
            return SAME
    save_wishes(
        round=found,
        member=member,
        by=cells.importing.by,
        at=cells.importing.moment(cells.day("sent_on")),
        main=main,
        reserve=reserve,
    )
    return CHANGED if known else NEW


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


def _number(text: str, numbers: dict[str, int], column: str, importer: Member) -> int:
    number = numbers.get(text) or numbers.get(str(lot_key(importer, text)))
    if number is None:
        raise BadInput(f"{text} is not on this list.", field=column)
    return number


WISHES = Kind(
    name="wishes",
    title="Wish lists",
    columns=(
        Column("round", required=True),
        Column("member"),
        Column("main", ("wishes",), required=True),
        Column("reserve", ("reserves",)),
        Column("sent_on", ("date",)),
    ),
    act=_wishes,
)
