"""Rounds at each stage of the year, brought there by the acts that bring them there in life."""

import datetime
from typing import Any

from seedbank.bank.models import Lot
from seedbank.exchange.actions.allocation import announce, freeze_inputs, run_allocation
from seedbank.exchange.actions.listing import add_lines, publish_list
from seedbank.exchange.actions.round import open_round
from seedbank.exchange.actions.wishes import save_wishes
from seedbank.exchange.models import AllocationRun, ListLine, Parcel, Round, WishList
from seedbank.members.models import Member
from tests.conftest import NOON
from tests.factories.bank import LotFactory, packets_of

A_DAY = datetime.timedelta(days=1)
OPENS = NOON - A_DAY
CLOSES = NOON + 7 * A_DAY
AFTER = CLOSES + A_DAY


def make_round(keeper: Member, **facts: Any) -> Round:
    """A round whose list opens the day before NOON and closes a week after it."""
    wanted: dict[str, Any] = {
        "slug": "seed-2026",
        "name": "Seed exchange 2026",
        "list_opens_at": OPENS,
        "wishes_close_at": CLOSES,
        "public_value_name": "Numbers of the state lottery of 30 May 2026",
    }
    return open_round(by=keeper, at=OPENS - 30 * A_DAY, **wanted | facts)


def stored_lot(name_text: str = "Primula veris", packets: int = 2, **facts: Any) -> Lot:
    lot = LotFactory(name_text=name_text, owner=None, **facts)
    if packets:
        packets_of(lot, packets)
    return lot


def listed_round(keeper: Member, *lots: Lot, **facts: Any) -> Round:
    """A round with a published list, numbered A-Z; one lot of two packets unless lots are given."""
    found = make_round(keeper, **facts)
    add_lines(round=found, lots=lots or [stored_lot()], by=keeper, at=OPENS)
    return publish_list(round=found, by=keeper, at=OPENS - A_DAY)


def wish(
    found: Round, member: Member, *main: int, reserve: tuple[int, ...] = (), **options: Any
) -> WishList:
    return save_wishes(
        round=found, member=member, by=member, at=NOON, main=main, reserve=reserve, **options
    )


def share_out(found: Round, keeper: Member, public_value: str = "4 8 15") -> AllocationRun:
    freeze_inputs(round=found, by=keeper, at=AFTER)
    return run_allocation(round=found, public_value=public_value, by=keeper, at=AFTER)


def announced(found: Round, keeper: Member) -> Round:
    share_out(found, keeper)
    return announce(round=found, by=keeper, at=AFTER)


def parcel_of(found: Round, member: Member) -> Parcel:
    return Parcel.objects.get(round=found, member=member, cancelled_at=None)


def line(found: Round, line_number: int) -> ListLine:
    return ListLine.objects.get(round=found, line_number=line_number)
