"""Make the list of a round; once it is published its numbers never change."""

import datetime
from collections.abc import Iterable
from typing import Any

from django.db import transaction
from django.db.models import Max
from simple_history.utils import bulk_create_with_history, bulk_update_with_history

from crosses.base.countries import COUNTRY_NAMES
from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from crosses.base.visibility import Visibility
from seedbank.bank.models import Lot
from seedbank.exchange.actions.recall import TakenBack, take_back
from seedbank.exchange.facts import LINE
from seedbank.exchange.models import LineBar, ListLine, Round
from seedbank.exchange.queries.listing import in_list_order
from seedbank.members.models import Member


@transaction.atomic
def add_lines(
    *, round: Round, lots: Iterable[Lot], by: Member, at: datetime.datetime
) -> list[ListLine]:
    """Put lots on the list. After publication they follow at the end, A-Z among themselves."""
    round = Round.objects.select_for_update().get(pk=round.pk)
    if round.frozen_at and not round.announced_at:
        raise Refused(
            "round-frozen",
            "Wishes are frozen; once the result is announced this lot can go to what is left.",
            field="lots",
        )
    chosen = list(lots)
    listed = set(
        ListLine.objects.filter(round=round, lot__in=chosen).values_list("lot_id", flat=True)
    )
    new = [
        ListLine(round=round, lot=lot, kept_back=round.kept_back)
        for lot in chosen
        if lot.pk not in listed
    ]
    last = ListLine.objects.filter(round=round).aggregate(last=Max("line_number"))["last"] or 0
    for number, line in enumerate(in_list_order(new), start=last + 1):
        line.line_number = number
    made: list[ListLine] = bulk_create_with_history(new, ListLine, default_user=by, default_date=at)
    if round.is_published:
        _show_lots([line.lot for line in new], by=by)
    return made


@transaction.atomic
def add_line(*, round: Round, lot: Lot, by: Member, at: datetime.datetime) -> ListLine:
    made = add_lines(round=round, lots=[lot], by=by, at=at)
    if not made:
        raise Refused("lot-listed", "This lot is on the list already.", field="lots")
    return made[0]


@transaction.atomic
def remove_line(*, line: ListLine, by: Member, at: datetime.datetime) -> None:
    """Take a line off a list that nobody has seen; a published line is withdrawn instead."""
    round = Round.objects.select_for_update().get(pk=line.round_id)
    if round.is_published:
        raise Refused(
            "round-published", "Members know this number: withdraw the line with a reason."
        )
    line.delete()


@transaction.atomic
def publish_list(*, round: Round, by: Member, at: datetime.datetime) -> Round:
    """Number the lines A-Z, for good, and let members read the list from its opening day on."""
    round = Round.objects.select_for_update().get(pk=round.pk)
    if round.is_published:
        raise Refused("round-published", "The list is published already.")
    if not round.public_value_name:
        raise Refused(
            "public-value-unnamed", "Name the public value of the draw first, in the round's rules."
        )
    lines = in_list_order(ListLine.objects.filter(round=round).select_related("lot"))
    if not lines:
        raise Refused("list-empty", "There is nothing on the list yet.")
    _number(lines, by=by, at=at)
    _show_lots([line.lot for line in lines], by=by)
    round.listed_at = at
    save_with_history(round, by=by, why="List published.")
    return round


@transaction.atomic
def change_line(
    *,
    line: ListLine,
    by: Member,
    at: datetime.datetime,
    why: str = "",
    **facts: Any,
) -> ListLine:
    """Put a description right, or keep more for the bank; the number stays."""
    round = Round.objects.select_for_update().get(pk=line.round_id)
    if round.frozen_at and facts.get("kept_back", line.kept_back) != line.kept_back:
        raise Refused("round-frozen", "The stock is frozen for the draw.", field="kept_back")
    LINE.set_on(line, facts)
    save_with_history(line, by=by, why=why)
    return line


@transaction.atomic
def withdraw_line(*, line: ListLine, by: Member, at: datetime.datetime, reason: str) -> TakenBack:
    """Withdraw a line; it stays on the list to be read, and nobody is given any of it.

    Once the result is announced its packets leave the parcels that are not posted, and everybody
    who was given one is told. Returns what became of them.
    """
    if line.withdrawn_reason:
        raise Refused("line-withdrawn", "This line is withdrawn already.", field="reason")
    if not reason.strip():
        raise Refused(
            "reason-missing", "Say why the line is withdrawn; members read it.", field="reason"
        )
    line.withdrawn_reason = reason.strip()
    save_with_history(line, by=by, why=reason.strip())
    return take_back(line=line, by=by, at=at, reason=reason.strip())


@transaction.atomic
def bar_line(
    *, line: ListLine, by: Member, at: datetime.datetime, country: str, words: str
) -> LineBar:
    if country not in COUNTRY_NAMES:
        raise Refused("country-unknown", "Choose a country.", field="country")
    if not words.strip():
        raise Refused(
            "words-missing", "Say why the line is barred; members read it.", field="words"
        )
    bar, _is_new = LineBar.objects.update_or_create(
        line=line, country=country, defaults={"words": words.strip()}
    )
    save_with_history(line, by=by, why=f"Barred to {country}: {words}")
    return bar


@transaction.atomic
def lift_bar(*, line: ListLine, by: Member, at: datetime.datetime, country: str) -> None:
    LineBar.objects.filter(line=line, country=country).delete()
    save_with_history(line, by=by, why=f"No longer barred to {country}.")


def _number(lines: list[ListLine], *, by: Member, at: datetime.datetime) -> None:
    # Twice, because no two lines may share a number at any instant: first out of the way, past
    # every number in use, then home.
    past = max(line.line_number for line in lines) + len(lines)
    for number, line in enumerate(lines, start=past + 1):
        line.line_number = number
    ListLine.objects.bulk_update(lines, ["line_number"], batch_size=500)
    for number, line in enumerate(lines, start=1):
        line.line_number = number
    bulk_update_with_history(
        lines,
        ListLine,
        ["line_number"],
        batch_size=500,
        default_user=by,
        default_date=at,
        default_change_reason="Numbered A-Z.",
    )


def _show_lots(lots: list[Lot], *, by: Member) -> None:
    """Let the society see what it may wish for: a listed lot's records are no longer private."""
    for lot in lots:
        if lot.visibility != Visibility.SOCIETY:
            lot.visibility = Visibility.SOCIETY
            save_with_history(lot, by=by, why="On the exchange list.")
