"""Overrule the draw for one member and one line: with a reason, and within every rule."""

import datetime

from django.db import transaction
from django.db.models import QuerySet

from crosses.base.refusal import Refused
from seedbank.exchange.actions.allocation import replay, top_up
from seedbank.exchange.actions.promises import give_up
from seedbank.exchange.models import AllocationRun, HandChange, ListLine, ParcelItem, Round
from seedbank.exchange.queries.bars import bar_sentence, bars_for
from seedbank.exchange.queries.listing import lines_with_kinds, stock_of
from seedbank.exchange.queries.round import allowance_of
from seedbank.members.models import Member


@transaction.atomic
def change_by_hand(
    *,
    round: Round,
    member: Member,
    line_number: int,
    kind: str,
    why: str,
    by: Member,
    at: datetime.datetime,
) -> AllocationRun:
    """Give a member a packet of a line, or see that she has none; the rest is shared out anew.

    Before the announcement that is a replay, after it a top-up, so that what is freed goes to the
    next in line by the same draw. The change stands in the frozen inputs of every later run.
    """
    round = Round.objects.select_for_update().get(pk=round.pk)
    if not why.strip():
        raise Refused("why-missing", "Say why; everybody can read it.", field="why")
    line = lines_with_kinds(ListLine.objects.filter(round=round, line_number=line_number)).first()
    if line is None:
        raise Refused(
            "line-unknown", f"There is no line {line_number} on this list.", field="line_number"
        )
    if kind == HandChange.Kind.GIVE:
        _refuse_what_no_rule_allows(round, member, line)
    else:
        _take_back(_living(round, member).filter(line=line), why.strip(), by=by, at=at)
    for earlier in HandChange.objects.filter(member=member, line=line, replaced_at=None):
        earlier.replaced_at = at
        earlier.save(update_fields=["replaced_at"])
    change = HandChange.objects.create(
        round=round, member=member, line=line, kind=kind, why=why.strip(), made_at=at, made_by=by
    )
    again = top_up if round.announced_at else replay
    to = round.name_published(member.number)
    words = f"By hand, line {line_number} to {to}, {change.get_kind_display()}: {why}"
    return again(round=round, why=words[:300], by=by, at=at)


def _refuse_what_no_rule_allows(round: Round, member: Member, line: ListLine) -> None:
    if line.withdrawn_reason:
        words = f"Line {line.line_number} has been withdrawn: {line.withdrawn_reason}"
        raise Refused("line-withdrawn", words, field="line_number")
    bar = bars_for([line], [member.country]).get((line.pk, member.country))
    if bar:
        raise Refused("line-barred", bar_sentence(bar, member.country), field="line_number")
    items = _living(round, member)
    house = ParcelItem.objects.filter(line=line, released_at=None)
    if round.household_shares_cap and member.household_id:
        house = house.filter(parcel__member__household=member.household_id)
    else:
        house = house.filter(parcel__member=member)
    if house.count() >= round.copies_per_line:
        words = f"{member.number} has as many packets of line {line.line_number} as a member may."
        raise Refused("line-had", words, field="line_number")
    # Before the announcement the others' packets may move, and hers with them; packed ones stay.
    settled = items if round.announced_at else items.filter(packed_at__isnull=False)
    allowance = allowance_of(round, member)
    if settled.filter(is_surplus=False).count() >= allowance.packets:
        words = f"{member.number} has the {allowance.packets} packets allowed; take one back first."
        raise Refused("allowance-full", words, field="member")
    promised = ParcelItem.objects.filter(line=line, released_at=None)
    if not round.announced_at:
        promised = promised.filter(packed_at__isnull=False)
    if promised.count() >= stock_of([line])[line.pk].packets:
        words = f"No packet of line {line.line_number} is free; take one back from somebody first."
        raise Refused("stock-gone", words, field="line_number")


def _living(round: Round, member: Member) -> QuerySet[ParcelItem]:
    return ParcelItem.objects.filter(
        parcel__round=round, parcel__member=member, released_at=None
    ).select_related("packet", "parcel")


def _take_back(items: QuerySet[ParcelItem], why: str, *, by: Member, at: datetime.datetime) -> None:
    give_up(list(items), by=by, at=at, reason=f"By hand: {why}"[:300], is_owed=False)
