"""Take back what a file made, through the acts that withdraw and change; refused where it is used."""

import datetime
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import ForeignKey, Model, ProtectedError, Q, QuerySet

from crosses.actions.capsule import withdraw_check
from crosses.actions.cross import change_cross, withdraw_cross
from crosses.actions.harvest import count_seeds, withdraw_harvest
from crosses.actions.plant import change_plant, withdraw_plant
from crosses.actions.pollination import change_pollination, withdraw_pollination
from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from crosses.facts.harvest import HARVEST
from crosses.models import (
    Check,
    Cross,
    DestinationFlag,
    Harvest,
    Plant,
    Pollination,
    Taxon,
)
from seedbank.bank.actions.donation import withdraw_donation
from seedbank.bank.actions.lot import change_lot, withdraw_lot
from seedbank.bank.actions.packet import discard
from seedbank.bank.actions.place import change_place
from seedbank.bank.models import Donation, DonationLine, Lot, Movement, Packet, Place
from seedbank.exchange.actions.listing import remove_line
from seedbank.exchange.actions.wishes import cancel_wishes, save_wishes
from seedbank.exchange.models import ListLine, WishList
from seedbank.members.actions.member import save_address
from seedbank.members.models import Address, Member
from seedbank.sowings.actions.count import forget_count_key, record_count, withdraw_count
from seedbank.sowings.actions.sowing import reopen_sowing, withdraw_sowing
from seedbank.sowings.models import Count, Sowing

MADE, SOWN, PART_SOWN = Movement.Kind.MADE, Movement.Kind.SOWN, Movement.Kind.PART_SOWN
WHY = "the file that brought it in was taken back"


@dataclass(frozen=True, slots=True)
class Undo:
    """Who takes a file back, and when."""

    by: Member
    at: datetime.datetime

    @property
    def facts(self) -> dict[str, Any]:
        return {"by": self.by, "at": self.at, "reason": WHY}


def take_back(record: Model, undo: Undo) -> None:
    """Withdraw a record that a file made; its key is free again, so that the file can come anew."""
    act = _TAKE_BACK.get(type(record), _delete_unused)
    act(record, undo)


def put_back(
    record: Model, before: Mapping[str, Any], after: Mapping[str, Any], undo: Undo
) -> None:
    """Make a record say again what it said before a file changed it."""
    if facts_of(record, after) != after:
        raise Refused("changed-since", f"{record} has been changed since; it stays as it is.")
    act = _PUT_BACK.get(type(record))
    if act is None:
        raise Refused("stands", f"{record} cannot be put back; correct it on its page.")
    act(record, {name: _as_value(record, name, value) for name, value in before.items()}, undo)


def kept(value: object) -> Any:
    """Return a fact as it is kept beside a file: a record by its key, the rest as JSON has it."""
    if isinstance(value, Model):
        return value.pk
    if isinstance(value, Decimal):
        return format(value.normalize(), "f")
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return value


def facts_of(record: Model, names: Iterable[str]) -> dict[str, Any]:
    """Return what a record says under the names that are its own fields, as it is kept."""
    own = {field.name for field in record._meta.fields}  # noqa: SLF001
    return {name: kept(getattr(record, name)) for name in names if name in own}


def _as_value(record: Model, name: str, kept: Any) -> Any:
    if not any(field.name == name for field in record._meta.fields):  # noqa: SLF001
        return kept
    field = record._meta.get_field(name)  # noqa: SLF001
    if isinstance(field, ForeignKey):
        model: Any = field.related_model
        return None if kept is None else model._default_manager.get(pk=kept)  # noqa: SLF001
    return field.to_python(kept)  # type: ignore[union-attr]


def _free_key(record: Any, undo: Undo) -> None:
    record.client_key = None
    save_with_history(record, by=undo.by, why=WHY, fields=["client_key"])


def _refuse_if(is_used: object, record: Model, words: str) -> None:
    if is_used:
        raise Refused("built-on", f"{record}: {words}")


def _plant(plant: Plant, undo: Undo) -> None:
    withdraw_plant(plant=plant, **undo.facts)


def _cross(cross: Cross, undo: Undo) -> None:
    # Its own number is free again for the season.
    freed = f"{cross.own_number[:25]} {cross.number}"
    change_cross(cross=cross, by=undo.by, why=WHY, own_number=freed)
    withdraw_cross(cross=cross, **undo.facts)


def _pollination(pollination: Pollination, undo: Undo) -> None:
    looks = pollination.checks.filter(withdrawn_at=None).exists()
    _refuse_if(looks, pollination, "its capsules have been looked at since.")
    withdraw_pollination(pollination=pollination, **undo.facts)
    _free_key(pollination, undo)


def _check(check: Check, undo: Undo) -> None:
    withdraw_check(check=check, **undo.facts)
    _free_key(check, undo)


def _harvest(harvest: Harvest, undo: Undo) -> None:
    lots = harvest.lots.filter(withdrawn_at=None).exists()
    _refuse_if(lots, harvest, "its seed has been made a lot.")
    withdraw_harvest(harvest=harvest, **undo.facts)
    _free_key(harvest, undo)


def _lot(lot: Lot, undo: Undo) -> None:
    gone = [Packet.State.DISCARDED, Packet.State.SOWN]
    packets = lot.packets.filter(~Q(state__in=gone) | Q(pk__in=_sown_of(lot.packets.all())))
    _refuse_if(packets.exists(), lot, "packets have been made of it.")
    _refuse_if(ListLine.objects.filter(lot=lot).exists(), lot, "it stands on a list.")
    withdraw_lot(lot=lot, **undo.facts)
    _free_key(lot, undo)


def _packet(packet: Packet, undo: Undo) -> None:
    """Discard a packet; seed of a sowing that was itself taken back is gone from it already."""
    moved = packet.movements.exclude(kind__in=[MADE, SOWN, PART_SOWN]).exists()
    is_sown = _sown_of(Packet.objects.filter(pk=packet.pk)).exists()
    _refuse_if(moved or is_sown, packet, "this packet has been moved or sown since.")
    if packet.state != Packet.State.SOWN:
        discard(packet=packet, by=undo.by, at=undo.at, why=WHY)


def _sown_of(packets: QuerySet[Packet]) -> QuerySet[Packet]:
    """Return the packets of which a sowing stands."""
    return packets.filter(
        pk__in=Sowing.objects.filter(withdrawn_at=None, packet__in=packets).values("packet")
    )


def _donation(donation: Donation, undo: Undo) -> None:
    withdraw_donation(donation=donation, **undo.facts)
    _free_key(donation, undo)


def _donation_line(line: DonationLine, undo: Undo) -> None:
    """Take a lot out of an envelope that is still at home; an empty envelope is withdrawn."""
    answered = line.answer != DonationLine.Answer.WAITING
    _refuse_if(answered, line.lot, "the keeper has answered this offer.")
    donation = line.donation
    _delete_unused(line, undo)
    if not donation.lines.exists():
        withdraw_donation(donation=donation, **undo.facts)


def _sowing(sowing: Sowing, undo: Undo) -> None:
    counted = Count.objects.filter(replicate__sowing=sowing, withdrawn_at=None).exists()
    _refuse_if(counted, sowing, "it has been counted since.")
    _refuse_if(sowing.seedlings.exists(), sowing, "plants have been kept from it.")
    withdraw_sowing(sowing=sowing, **undo.facts)
    _free_key(sowing, undo)


def _count(count: Count, undo: Undo) -> None:
    forget_count_key(count=count, by=undo.by)
    withdraw_count(count=count, **undo.facts)


def _wish_list(wish_list: WishList, undo: Undo) -> None:
    cancel_wishes(wish_list=wish_list, by=undo.by, at=undo.at)


def _list_line(line: ListLine, undo: Undo) -> None:
    remove_line(line=line, by=undo.by, at=undo.at)


def _delete_unused(record: Any, undo: Undo) -> None:
    """Delete what a file brought in by mistake and nothing uses, with its history.

    Taxa, rules, places and rounds cannot be withdrawn, and of a person no data stay by mistake.
    """
    name, key = str(record), record.pk
    try:
        record.delete()
    except ProtectedError as used:
        raise Refused("built-on", f"{name} is in use since.") from used
    if hasattr(type(record), "history"):
        # Also the line that tells of the deletion.
        type(record).history.filter(id=key).delete()


_TAKE_BACK: dict[type[Model], Callable[[Any, Undo], None]] = {
    Plant: _plant,
    Cross: _cross,
    Pollination: _pollination,
    Check: _check,
    Harvest: _harvest,
    Lot: _lot,
    Packet: _packet,
    Donation: _donation,
    DonationLine: _donation_line,
    Sowing: _sowing,
    Count: _count,
    WishList: _wish_list,
    ListLine: _list_line,
}


def _put_back_plant(plant: Plant, facts: dict[str, Any], undo: Undo) -> None:
    change_plant(plant=plant, by=undo.by, why=WHY, **facts)


def _put_back_cross(cross: Cross, facts: dict[str, Any], undo: Undo) -> None:
    change_cross(cross=cross, by=undo.by, why=WHY, **facts)


def _put_back_pollination(pollination: Pollination, facts: dict[str, Any], undo: Undo) -> None:
    change_pollination(pollination=pollination, by=undo.by, at=undo.at, why=WHY, **facts)


def _put_back_harvest(harvest: Harvest, facts: dict[str, Any], undo: Undo) -> None:
    _refuse_if(harvest.samples.exists(), harvest, "its seed was weighed anew; count it again.")
    there = {fact.name: getattr(harvest, fact.name) for fact in HARVEST.written(making=False)}
    count_seeds(harvest=harvest, by=undo.by, why=WHY, **(there | facts))


def _put_back_lot(lot: Lot, facts: dict[str, Any], undo: Undo) -> None:
    change_lot(lot=lot, by=undo.by, at=undo.at, why=WHY, **facts)


def _put_back_sowing(sowing: Sowing, facts: dict[str, Any], undo: Undo) -> None:
    reopen_sowing(sowing=sowing, by=undo.by, why=WHY)


def _put_back_count(count: Count, facts: dict[str, Any], undo: Undo) -> None:
    key, pot, day = count.client_key, count.replicate, count.counted_on
    _count(count, undo)
    record_count(
        replicate=pot,
        by=undo.by,
        at=undo.at,
        number=facts.pop("typed_number"),
        client_key=key,
        **{"counted_on": day, **facts},
    )


def _put_back_place(place: Place, facts: dict[str, Any], undo: Undo) -> None:
    change_place(place=place, **facts)


def _put_back_fields(record: Taxon | DestinationFlag, facts: dict[str, Any], undo: Undo) -> None:
    for name, value in facts.items():
        setattr(record, name, value)
    save_with_history(record, by=undo.by, why=WHY)


def _put_back_member(member: Member, facts: dict[str, Any], undo: Undo) -> None:
    """Put a member's facts, address and roles back; a role that the file gave is taken away."""
    if "roles" in facts:
        for group in member.groups.exclude(name__in=facts.pop("roles")):
            member.groups.remove(group)
            if group.name == "Administrators":
                member.is_staff = member.is_superuser = False
    if "address" in facts:
        lines = facts.pop("address")
        if lines:
            save_address(member=member, by=undo.by, lines=lines, country=member.country)
        else:
            Address.objects.filter(member=member).delete()
    for name, value in facts.items():
        setattr(member, name, value)
    save_with_history(member, by=undo.by, why=WHY)


def _put_back_wishes(wish_list: WishList, facts: dict[str, Any], undo: Undo) -> None:
    save_wishes(round=wish_list.round, member=wish_list.member, by=undo.by, at=undo.at, **facts)


_PUT_BACK: dict[type[Model], Callable[[Any, dict[str, Any], Undo], None]] = {
    Plant: _put_back_plant,
    Cross: _put_back_cross,
    Pollination: _put_back_pollination,
    Harvest: _put_back_harvest,
    Lot: _put_back_lot,
    Sowing: _put_back_sowing,
    Count: _put_back_count,
    Place: _put_back_place,
    Taxon: _put_back_fields,
    Member: _put_back_member,
    WishList: _put_back_wishes,
}
