"""A member says what she would like, in order; the server's clock closes the list."""

import datetime
from collections import Counter
from collections.abc import Sequence

from django.db import transaction

from crosses.base.clock import moment_in_words
from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from seedbank.calc.wishorder import WishOrder
from seedbank.exchange.access import may_keep
from seedbank.exchange.models import ListLine, Round, Wish, WishList
from seedbank.exchange.queries.bars import bar_sentence, bars_for
from seedbank.exchange.queries.listing import lines_with_kinds
from seedbank.exchange.queries.round import Allowance, allowance_of
from seedbank.exchange.queries.wishes import numbers_in, receipts_due, wish_list_of
from seedbank.members.actions.mail import Letter, mail_members
from seedbank.members.models import Member

MOST_MAILS = 100


@transaction.atomic
def save_wishes(
    *,
    round: Round,
    member: Member,
    by: Member,
    at: datetime.datetime,
    main: Sequence[int],
    reserve: Sequence[int] = (),
    with_receipt: bool = False,
    seen: str | None = None,
) -> WishList:
    """Put a list of line numbers, most wanted first, in the place of the member's list.

    `seen` is the version of the list that the page was made from, empty if there was none: a list
    that somebody has changed since is not written over unseen.
    """
    round = _open_round(round, member, by, at)
    already = wish_list_of(round, member)
    if already and numbers_in(already) == (list(main), list(reserve)) and seen != already.version:
        return already
    _refuse_unseen(already, seen)
    allowance = allowance_of(round, member)
    _check_lengths(round, allowance, main, reserve)
    lines = _lines_asked(round, member, main, reserve, already=already)
    wish_list = _list_to_write(round, member, by, at)
    wish_list.as_sent = _as_sent(main, reserve)
    if with_receipt:
        wish_list.receipt_at = at
    save_with_history(wish_list, by=by, why="Wishes saved.")
    wish_list.wishes.all().delete()
    Wish.objects.bulk_create(
        Wish(wish_list=wish_list, rank=rank, line=lines[number], is_reserve=rank > len(main))
        for rank, number in enumerate([*main, *reserve], start=1)
    )
    if with_receipt:
        mail_members(_receipt(wish_list, by, at))
    return wish_list


@transaction.atomic
def put_wishes(
    *,
    round: Round,
    member: Member,
    by: Member,
    at: datetime.datetime,
    lines: Sequence[int],
    place: int | None = None,
) -> WishList:
    """Put lines in at a place, or at the end; a line that stands in the list moves to the place."""
    if not lines:
        raise Refused("wishes-none", "Type the number of a line, or several.", field="lines")
    order, allowance = _order_to_change(round, member, by, at)
    return _save_order(
        round, member, by, at, order.put(lines, allowance=allowance.packets, place=place), "lines"
    )


@transaction.atomic
def move_wish(
    *,
    round: Round,
    member: Member,
    by: Member,
    at: datetime.datetime,
    line_number: int,
    rank: int,
    step: int,
) -> WishList:
    """Move a wish one place up (step below 0) or down; `rank` is where the member saw it."""
    order, allowance = _order_to_change(round, member, by, at)
    moved = order.moved(_rank(order, line_number, rank), step, allowance=allowance.packets)
    return _save_order(round, member, by, at, moved)


@transaction.atomic
def remove_wish(
    *,
    round: Round,
    member: Member,
    by: Member,
    at: datetime.datetime,
    line_number: int,
    rank: int,
) -> WishList:
    order, _allowance = _order_to_change(round, member, by, at)
    return _save_order(round, member, by, at, order.without(_rank(order, line_number, rank)))


@transaction.atomic
def send_receipt(*, round: Round, member: Member, by: Member, at: datetime.datetime) -> WishList:
    """Mail a member her list as it stands."""
    wish_list = wish_list_of(round, member)
    if wish_list is None:
        raise Refused("wishes-none", "There are no wishes to send a receipt of.")
    wish_list.receipt_at = at
    save_with_history(wish_list, by=by, why="Receipt sent.")
    mail_members(_receipt(wish_list, by, at))
    return wish_list


@transaction.atomic
def mail_receipts_due(*, round: Round, by: Member, at: datetime.datetime) -> int:
    """Mail members their lists whose last change no receipt has told of; say to how many.

    At most a hundred at a time: a mail server takes its while over each.
    """
    due = list(receipts_due(round).select_related("member", "entered_by", "round")[:MOST_MAILS])
    for wish_list in due:
        wish_list.receipt_at = at
        save_with_history(wish_list, by=by, why="Receipt sent.")
    mail_members(*(_receipt(wish_list, wish_list.entered_by, at) for wish_list in due))
    return len(due)


@transaction.atomic
def cancel_wishes(*, wish_list: WishList, by: Member, at: datetime.datetime) -> WishList:
    """Take a member out of a round; her list stays to be read.

    A member leaves while wishes are open; later the keeper takes her out, and shares out again.
    """
    is_for_another = by.pk != wish_list.member_id and may_keep(by)
    if not is_for_another:
        _open_round(wish_list.round, wish_list.member, by, at)
    wish_list = WishList.objects.select_for_update().get(pk=wish_list.pk)
    if wish_list.cancelled_at:
        raise Refused("wishes-cancelled", "These wishes are cancelled already.")
    wish_list.cancelled_at = at
    save_with_history(wish_list, by=by, why="Cancelled.")
    return wish_list


def _open_round(round: Round, member: Member, by: Member, at: datetime.datetime) -> Round:
    """Return the round, locked, if wishes may be written now."""
    # The lock holds the freezing of the inputs off until this list is whole.
    round = Round.objects.select_for_update().get(pk=round.pk)
    if not round.is_list_open_at(at):
        opens = moment_in_words(round.list_opens_at)
        raise Refused("list-not-open", f"The list is not open yet; it opens on {opens}.")
    # A list that came by post in time may be typed in after the closing, by the keeper.
    typed_for_another = by.pk != member.pk and may_keep(by)
    if round.frozen_at or (at >= round.wishes_close_at and not typed_for_another):
        raise Refused(
            "wishes-closed", f"Wishes closed on {moment_in_words(round.wishes_close_at)}."
        )
    return round


def _refuse_unseen(already: WishList | None, seen: str | None) -> None:
    if seen is None or seen == (already.version if already else ""):
        return
    if already is None:
        raise Refused("wishes-changed", "This list was cancelled while you had it open.")
    raise Refused(
        "wishes-changed",
        f"{already.entered_by.name} changed this list on {moment_in_words(already.changed_at)},"
        " while you had it open. It stands below as it is saved now; what you typed is still here."
        " Save once more to put yours in its place.",
    )


def _order_to_change(
    round: Round, member: Member, by: Member, at: datetime.datetime
) -> tuple[WishOrder, Allowance]:
    # The lock first: of two changes at once the later builds on what the earlier saved.
    round = _open_round(round, member, by, at)
    main, reserve = numbers_in(wish_list_of(round, member))
    return WishOrder((*main, *reserve), len(main)), allowance_of(round, member)


def _rank(order: WishOrder, line_number: int, rank: int) -> int:
    found = order.rank_of(line_number, rank)
    if found is None:
        raise Refused("wish-unknown", "That wish is no longer in your list.")
    return found


def _save_order(
    round: Round,
    member: Member,
    by: Member,
    at: datetime.datetime,
    order: WishOrder,
    field: str = "",
) -> WishList:
    try:
        return save_wishes(
            round=round,
            member=member,
            by=by,
            at=at,
            main=order.main_lines,
            reserve=order.reserve_lines,
        )
    except Refused as no:
        # What was typed has one field, whether it became a main wish or a reserve.
        raise Refused(no.code, no.message, field=field) from no


def _check_lengths(
    round: Round, allowance: Allowance, main: Sequence[int], reserve: Sequence[int]
) -> None:
    if len(main) > allowance.packets:
        over = len(main) - allowance.packets
        words = f"{allowance.words} These are {len(main)} main wishes: move the last {over}"
        raise Refused(
            "wishes-too-many", f"{words} to the reserves or leave them out.", field="main"
        )
    if len(reserve) > round.reserves:
        words = (
            f"{round.reserves} reserve wishes are allowed in this round; these are {len(reserve)}."
        )
        raise Refused("reserves-too-many", words, field="reserve")
    for number, times in Counter([*main, *reserve]).items():
        if times > round.copies_per_line:
            allowed = "once" if round.copies_per_line == 1 else f"{round.copies_per_line} times"
            words = f"Line {number} stands {times} times in your list; {allowed} is allowed."
            field = "main" if number in main else "reserve"
            raise Refused("wish-repeated", words, field=field)


def _lines_asked(
    round: Round,
    member: Member,
    main: Sequence[int],
    reserve: Sequence[int],
    *,
    already: WishList | None,
) -> dict[int, ListLine]:
    """Return the lines by number; refuse one that is unknown, or newly asked for and not to be had.

    What stood in the list before stays in it, so that a line withdrawn later does not stop the
    member from changing the rest; the sharing-out passes over it and says why.
    """
    asked = [*main, *reserve]
    kept = set().union(*numbers_in(already))
    lines = lines_with_kinds(ListLine.objects.filter(round=round, line_number__in=asked))
    found = {line.line_number: line for line in lines}
    bars = bars_for(found.values(), [member.country])
    for rank, number in enumerate(asked):
        field = "main" if rank < len(main) else "reserve"
        if number not in found:
            raise Refused("line-unknown", f"There is no line {number} on this list.", field=field)
        line = found[number]
        if number in kept:
            continue
        if line.withdrawn_reason:
            words = f"Line {number} has been withdrawn: {line.withdrawn_reason}"
            raise Refused("line-withdrawn", words, field=field)
        bar = bars.get((line.pk, member.country))
        if bar:
            words = f"Line {number} cannot be asked for. {bar_sentence(bar, member.country)}"
            raise Refused("line-barred", words, field=field)
    return found


def _list_to_write(round: Round, member: Member, by: Member, at: datetime.datetime) -> WishList:
    wish_list = WishList.objects.select_for_update().filter(round=round, member=member).first()
    wish_list = wish_list or WishList(round=round, member=member)
    wish_list.changed_at = at
    wish_list.entered_by = by
    wish_list.cancelled_at = None
    return wish_list


def _as_sent(main: Sequence[int], reserve: Sequence[int]) -> str:
    return f"{', '.join(map(str, main))}; reserves: {', '.join(map(str, reserve)) or 'none'}"


def _receipt(wish_list: WishList, by: Member, at: datetime.datetime) -> Letter:
    round, wishes = wish_list.round, wish_list.wishes.select_related("line__lot")
    return Letter(
        member=wish_list.member,
        subject=f"Your wishes for {round.name}",
        template="exchange/wishes/receipt_mail.txt",
        context={
            "round": round,
            "main": [wish for wish in wishes if not wish.is_reserve],
            "reserve": [wish for wish in wishes if wish.is_reserve],
            "typed_by": by.name if by.pk != wish_list.member_id else "",
            "is_open": round.takes_wishes_at(at),
            "closes": moment_in_words(round.wishes_close_at),
        },
    )
