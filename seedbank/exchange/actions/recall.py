"""Seed that must not go out after all: out of the parcels, and told to whoever has it already."""

import datetime
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.db.models import QuerySet

from crosses.base.refusal import Refused
from seedbank.bank.actions.packet import move_many
from seedbank.bank.models import Movement
from seedbank.exchange.actions.posting import reopen_parcel
from seedbank.exchange.actions.promises import give_up
from seedbank.exchange.models import ListLine, Parcel, ParcelItem, Round
from seedbank.exchange.queries.bars import bar_sentence
from seedbank.exchange.queries.inputs import barred_promises
from seedbank.members.actions.mail import Letter, mail_members
from seedbank.members.models import Member


@dataclass(frozen=True)
class TakenBack:
    """What became of the packets of a line that is withdrawn.

    `sealed` are parcels that hold one and cannot be opened again, for their member has another by now.
    """

    taken_out: int = 0
    told: int = 0
    sealed: tuple[str, ...] = ()


@transaction.atomic
def take_back(*, line: ListLine, by: Member, at: datetime.datetime, reason: str) -> TakenBack:
    """Take a withdrawn line out of every parcel that is not posted, and tell all who were given it.

    Before the result is announced nothing is done here: sharing out again gives the packets up, and
    what is free goes to whoever is next. Afterwards each member is owed another of their wishes.
    """
    if line.round.announced_at is None:
        return TakenBack()
    given = ParcelItem.objects.filter(line=line, released_at=None, parcel__cancelled_at=None)
    words = f"Line {line.line_number} is withdrawn: {reason}"
    items, out, sealed = _taken_out(
        given, dict.fromkeys(given.values_list("pk", flat=True), words), by=by, at=at
    )
    letters = _letters(line, items)
    mail_members(*letters)
    return TakenBack(len(out), len(letters), sealed)


@transaction.atomic
def take_back_barred(*, round: Round, by: Member, at: datetime.datetime) -> TakenBack:
    """Take out of the parcels all that may not go where it was promised, by the bars as they are now.

    What is posted is gone. Each member is told, and owed another of their wishes.
    """
    if round.announced_at is None:
        raise Refused("not-announced", "Share out again: nothing that is barred is promised then.")
    barred = barred_promises(round)
    words = {item.pk: bar_sentence(bar, item.parcel.member.country) for item, bar in barred}
    given = ParcelItem.objects.filter(pk__in=words)
    _items, out, sealed = _taken_out(given, words, by=by, at=at)
    by_member: dict[int, list[ParcelItem]] = defaultdict(list)
    for item in out:
        by_member[item.parcel.member_id].append(item)
    letters = [
        Letter(
            member=of_one[0].parcel.member,
            subject=f"Taken out of your parcel: {round.name}",
            template="exchange/allocation/barred_mail.txt",
            context={"round": round, "items": of_one},
        )
        for of_one in by_member.values()
    ]
    mail_members(*letters)
    return TakenBack(len(out), len(letters), sealed)


def _taken_out(
    given: QuerySet[ParcelItem], words: Mapping[int, str], *, by: Member, at: datetime.datetime
) -> tuple[list[ParcelItem], list[ParcelItem], tuple[str, ...]]:
    """Take promises out of all parcels that are not posted; `words` say why, by promise."""
    # Parcels first and in one order, as at the packing table.
    keys = given.filter(parcel__posted_on=None).values("parcel")
    parcels = list(Parcel.objects.select_for_update().filter(pk__in=keys).order_by("pk"))
    sealed = tuple(parcel.number for parcel in parcels if not _is_open(parcel, by, at))
    related = ("packet", "parcel__member", "line__lot")
    items = list(given.select_related(*related).order_by("packet__number"))
    out = [item for item in items if item.parcel.posted_on is None]
    for reason in sorted({words[item.pk] for item in out}):
        some = [item for item in out if words[item.pk] == reason]
        _unpack([item for item in some if item.packed_at], by=by, at=at, reason=reason[:300])
        give_up(some, by=by, at=at, reason=reason[:300], is_owed=True)
    return items, out, sealed


def _is_open(parcel: Parcel, by: Member, at: datetime.datetime) -> bool:
    if parcel.closed_at is None:
        return True
    try:
        reopen_parcel(parcel=parcel, by=by, at=at)
    except Refused:
        return False
    return True


def _unpack(items: Sequence[ParcelItem], *, by: Member, at: datetime.datetime, reason: str) -> None:
    if not items:
        return
    move_many(
        packets=[item.packet for item in items],
        kind=Movement.Kind.UNPACKED,
        by=by,
        at=at,
        reference={item.packet_id: item.parcel.number for item in items},
        note=reason,
    )
    for item in items:
        item.packed_at = item.packed_by = None
    ParcelItem.objects.filter(pk__in=[item.pk for item in items]).update(
        packed_at=None, packed_by=None
    )


def _letters(line: ListLine, items: Sequence[ParcelItem]) -> list[Letter]:
    by_member: dict[int, list[ParcelItem]] = defaultdict(list)
    for item in items:
        by_member[item.parcel.member_id].append(item)
    return [
        Letter(
            member=of_one[0].parcel.member,
            subject=f"Withdrawn: line {line.line_number} of {line.round.name}",
            template="exchange/listing/withdrawn_mail.txt",
            context={
                "line": line,
                "sent": [item.packet.number for item in of_one if item.parcel.posted_on],
                "taken_out": [item.packet.number for item in of_one if not item.parcel.posted_on],
            },
        )
        for of_one in by_member.values()
    ]
