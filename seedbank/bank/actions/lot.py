"""Seed lots: made from a harvest, written by hand, corrected, withdrawn."""

import datetime
import uuid
from collections.abc import Sequence
from typing import Any

from django.db import transaction
from django.db.models import Sum
from simple_history.utils import bulk_create_with_history

from crosses.actions.rules import (
    day_of,
    refuse_broken_fields,
    refuse_broken_rules,
    refuse_future,
    refuse_withdrawn,
)
from crosses.base.history import save_with_history
from crosses.base.idempotency import once
from crosses.base.numbers import next_number, next_numbers
from crosses.base.refusal import Refused
from crosses.base.withdrawal import withdraw
from crosses.models import Cross, Harvest, Taxon
from crosses.queries.written import cross_formula, parents_of
from seedbank.bank.actions.packet import make_packets
from seedbank.bank.facts import LOT
from seedbank.bank.models import Lot, Packet
from seedbank.members.models import Member

_IN_USE = [Packet.State.IN_STORE, Packet.State.HELD, Packet.State.PACKED]


@transaction.atomic
def make_lot_from_harvest(
    *,
    harvest: Harvest,
    by: Member,
    at: datetime.datetime,
    client_key: uuid.UUID | None = None,
    **facts: Any,
) -> Lot:
    """Carry a harvest over into a lot of its grower: name, year and seeds with their interval."""
    refuse_withdrawn(harvest, "harvest")
    cross = harvest.cross
    grower = Member.objects.get(pk=cross.grower_id)
    taxa = _taxa_of_parents(cross)
    carried: dict[str, Any] = {
        "harvest": harvest,
        "raised_by": grower,
        "owner": grower,
        "name_text": cross_formula(cross),
        "taxon": taxa[0] if len(set(taxa)) == 1 and _is_controlled(cross) else None,
        "origin": _origin(cross),
        "year": harvest.harvested_on.year,
        "collected_on": harvest.harvested_on,
        "seed_counting": harvest.seed_counting,
        "seeds": harvest.seeds,
        "seeds_low": harvest.seeds_low,
        "seeds_high": harvest.seeds_high,
        "thousand_seed_weight_grams": harvest.thousand_seed_weight_grams,
        "hazard_note": next((taxon.hazard_note for taxon in taxa if taxon.hazard_note), ""),
        "visibility": cross.visibility,
    }

    def make() -> Lot:
        # Two who press at the same moment must not double its seed.
        Harvest.objects.select_for_update().get(pk=harvest.pk)
        earlier = harvest.lots.filter(withdrawn_at=None).first()
        if earlier is not None:
            words = f"The seed of this harvest is in lot {earlier.number} already."
            raise Refused("harvest-has-lot", words)
        lot = Lot(client_key=client_key, **carried)
        LOT.set_on(lot, facts)
        return _save_new(lot, by=by, at=at)

    return once(Lot, client_key, make)[0]


@transaction.atomic
def put_harvest_in_packets(
    *,
    harvest: Harvest,
    by: Member,
    at: datetime.datetime,
    packets: dict[str, Any] | None,
    client_key: uuid.UUID | None = None,
    **facts: Any,
) -> Lot:
    """Make a harvest a lot and fill its packets: both, or neither with the reason.

    `packets` are the arguments of `make_packets`; None leaves all the seed loose.
    """
    lot = make_lot_from_harvest(harvest=harvest, by=by, at=at, client_key=client_key, **facts)
    # A second tap finds the lot and its packets made by the first.
    if packets is not None and not lot.packets.exists():
        make_packets(lot=lot, by=by, at=at, **packets)
    return lot


@transaction.atomic
def add_lot(
    *,
    raised_by: Member,
    owner: Member | None,
    by: Member,
    at: datetime.datetime,
    name_text: str,
    year: int,
    origin: str,
    client_key: uuid.UUID | None = None,
    **facts: Any,
) -> Lot:
    """Write down seed that has no harvest here; without an owner it is the bank's."""
    lot = Lot(
        raised_by=raised_by,
        owner=owner,
        name_text=name_text.strip(),
        year=year,
        origin=origin,
        client_key=client_key,
    )
    LOT.set_on(lot, facts)
    return once(Lot, client_key, lambda: _save_new(lot, by=by, at=at))[0]


@transaction.atomic
def add_lots(*, lots: Sequence[Lot], by: Member, at: datetime.datetime) -> Sequence[Lot]:
    """Write many lots of a table down at once; refuses all for one that breaks a rule.

    What `add_lot` asks the database beforehand, the database itself refuses here.
    """
    for lot in lots:
        _refuse_impossible(lot, at=at)
        refuse_broken_fields(lot)
    for lot, number in zip(lots, next_numbers("lot", len(lots)), strict=True):
        lot.number = number
    bulk_create_with_history(lots, Lot, batch_size=500, default_user=by)
    return lots


@transaction.atomic
def change_lot(*, lot: Lot, by: Member, at: datetime.datetime, why: str, **facts: Any) -> Lot:
    """Correct what was written of a lot; what it said before stays in its history."""
    refuse_withdrawn(lot, "lot")
    LOT.set_on(lot, facts)
    _refuse_impossible(lot, at=at)
    _refuse_fewer_than_in_packets(lot)
    refuse_broken_rules(lot)
    save_with_history(lot, by=by, why=why)
    return lot


@transaction.atomic
def withdraw_lot(*, lot: Lot, by: Member, at: datetime.datetime, reason: str) -> Lot:
    """Take a lot out of use; what the bank has of it must be dealt with first."""
    in_use = lot.packets.filter(state__in=_IN_USE).count()
    if in_use:
        words = f"The bank has {in_use} packets of this lot: discard or send them first."
        raise Refused("lot-in-use", words)
    return withdraw(lot, by=by, at=at, reason=reason)


def _save_new(lot: Lot, *, by: Member, at: datetime.datetime) -> Lot:
    _refuse_impossible(lot, at=at)
    lot.number = next_number("lot")
    refuse_broken_rules(lot)
    save_with_history(lot, by=by)
    return lot


def _refuse_impossible(lot: Lot, *, at: datetime.datetime) -> None:
    refuse_future(lot.collected_on, at=at, field="collected_on")
    refuse_future(lot.cleaned_on, at=at, field="cleaned_on")
    if lot.year > day_of(at).year:
        raise Refused("in-the-future", "This year is still to come.", field="year")
    if lot.collected_on and lot.collected_on.year != lot.year:
        words = f"It was collected in {lot.collected_on.year}, so that is its year."
        raise Refused("lot-year", words, field="year")
    if lot.cleaned_on and lot.collected_on and lot.cleaned_on < lot.collected_on:
        raise Refused("cleaned-before", "Cleaned before it was collected?", field="cleaned_on")


def _refuse_fewer_than_in_packets(lot: Lot) -> None:
    if lot.seed_counting not in {Lot.SeedCounting.COUNTED, Lot.SeedCounting.SAMPLED}:
        return
    first_packets = lot.packets.filter(split_from=None, is_pinch=False)
    packed = first_packets.aggregate(seeds=Sum("seeds"))["seeds"] or 0
    if packed > (lot.seeds_high or lot.seeds or 0):
        words = f"Packets made of this lot hold {packed} seeds already."
        raise Refused("lot-short", words, field="seeds")


def _is_controlled(cross: Cross) -> bool:
    return cross.pollen in {Cross.Pollen.PLANT, Cross.Pollen.MIXED, Cross.Pollen.SELF}


def _origin(cross: Cross) -> str:
    if _is_controlled(cross):
        return Lot.Origin.CONTROLLED
    return Lot.Origin.GARDEN if cross.pollen == Cross.Pollen.OPEN else Lot.Origin.UNKNOWN


def _taxa_of_parents(cross: Cross) -> list[Taxon]:
    """The parents' taxa, seed parent first; a parent without one counts as nothing known."""
    parents = parents_of(cross)
    plants = [parents.seed_parent, *(plant for plant, _part in parents.pollen)]
    return [plant.taxon for plant in plants if plant.taxon is not None]
