"""A member's wishes as the pages show them, and whether the list is long enough."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count, F, Q, QuerySet

from seedbank.exchange.models import ListLine, Round, WishList
from seedbank.exchange.queries.listing import (
    ListedLine,
    asked_by_line,
    lines_with_kinds,
    listed_lines,
    stock_of,
)
from seedbank.exchange.queries.round import Allowance
from seedbank.members.models import Member


@dataclass(frozen=True, slots=True)
class WishRow:
    """One wish as it stands in a member's list."""

    rank: int
    is_reserve: bool
    is_first: bool
    is_last: bool
    begins_reserves: bool
    listed: ListedLine


def wish_list_of(round: Round, member: Member) -> WishList | None:
    """Return a member's living wish list with its wishes and their lines loaded."""
    return (
        WishList.objects.filter(round=round, member=member, cancelled_at=None)
        .select_related("entered_by")
        .prefetch_related("wishes__line")
        .first()
    )


def receipts_due(round: Round) -> QuerySet[WishList]:
    """Living lists whose last change no receipt has told of."""
    living = WishList.objects.filter(round=round, cancelled_at=None)
    return living.filter(Q(receipt_at=None) | Q(receipt_at__lt=F("changed_at")))


def wish_lists_listed(lists: QuerySet[WishList], round: Round) -> QuerySet[WishList]:
    """Return the lists of a round as the keeper's page shows them, the last changed first."""
    return (
        lists.filter(round=round)
        .select_related("member", "entered_by")
        .annotate(
            main_wishes=Count("wishes", filter=Q(wishes__is_reserve=False)),
            reserves=Count("wishes", filter=Q(wishes__is_reserve=True)),
        )
        .order_by("cancelled_at", "-changed_at", "pk")
    )


def numbers_in(wish_list: WishList | None) -> tuple[list[int], list[int]]:
    """Return the line numbers of the main and of the reserve wishes, in order."""
    if wish_list is None:
        return [], []
    wishes = list(wish_list.wishes.all())
    main = [wish.line.line_number for wish in wishes if not wish.is_reserve]
    return main, [wish.line.line_number for wish in wishes if wish.is_reserve]


def wish_rows(
    round: Round, member: Member, main: Sequence[int], reserve: Sequence[int], year: int
) -> list[WishRow]:
    asked = [*main, *reserve]
    lines = lines_with_kinds(ListLine.objects.filter(round=round, line_number__in=asked))
    by_number = {listed.number: listed for listed in listed_lines(round, lines, member, year)}
    return [
        WishRow(
            rank=rank,
            is_reserve=rank > len(main),
            is_first=rank == 1,
            is_last=rank == len(asked),
            begins_reserves=rank == len(main) + 1,
            listed=by_number[number],
        )
        for rank, number in enumerate(asked, start=1)
    ]


def short_list_words(round: Round, allowance: Allowance, wish_list: WishList) -> str:
    """Warn a member whose list would run dry, by what everybody has asked for so far.

    Each wish brings a packet as often as there are packets for those who ask: at most one, and
    stock over wishes where more ask than there is.
    """
    lines = [wish.line for wish in wish_list.wishes.all()]
    stock, asked = stock_of(lines), asked_by_line(round)
    likely = sum(min(1.0, stock[line.pk].packets / max(1, asked.get(line.pk, 0))) for line in lines)
    if likely >= allowance.packets:
        return ""
    return (
        f"By the wishes so far your list would bring about {likely:.0f} of the"
        f" {allowance.packets} packets you may have."
        " Add lines that fewer people want, as reserves if you like."
        f" (Reckoned over your {len(lines)} wishes from packets and wishes on each line;"
        " it moves as others ask.)"
    )
