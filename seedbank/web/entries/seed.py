"""Entries about seed and pots: harvests put in packets, packets sown, pots counted."""

import datetime
import uuid
from typing import Any

from django.urls import reverse

from crosses.access import harvest_for_writing
from seedbank.bank.access import lot_for_writing
from seedbank.bank.actions.lot import put_harvest_in_packets
from seedbank.bank.actions.packet import make_packets
from seedbank.bank.forms.packet import HarvestIntoPacketsForm, MakePacketsForm
from seedbank.bank.models import Lot, Packet
from seedbank.members.models import Member
from seedbank.sowings.access import packet_typed, sowing_for_writing
from seedbank.sowings.actions.count import record_count
from seedbank.sowings.actions.sowing import sow
from seedbank.sowings.forms import CountForm, PretreatmentFormSet, SowForm, pretreatments_of
from seedbank.sowings.models import Count, Sowing
from seedbank.sowings.queries.pages import loaded
from seedbank.web.entries.base import Entry, Kind, Prepared, Stands, Told, number_about
from seedbank.web.entries.flowers import harvest_by_key
from seedbank.web.standing import lot_as_it_stands, sowing_as_it_stands

# Without this the form was shown without steps.
STEPS_SENT = "step-TOTAL_FORMS"


def _lot_by_key(key: uuid.UUID, by: Member) -> Lot | None:
    return Lot.objects.filter(client_key=key, owner=by).first()


def _packets(entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime) -> Prepared:
    """Packets of a harvest, which may have been logged without a signal too."""
    harvest = harvest_for_writing(by, number_about(entry, by, harvest_by_key))
    form = HarvestIntoPacketsForm(entry.typed, user=by)
    return form, lambda: put_harvest_in_packets(
        harvest=harvest,
        by=by,
        at=moment,
        packets=form.packets(),
        client_key=entry.key,
        name_text=form.cleaned_data["name_text"],
    )


def _lot_packets(
    entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime
) -> Prepared:
    lot = lot_for_writing(by, entry.about)
    if lot.packets.exists() and not entry.is_agreed:
        words = "Packets of this seed lot were made meanwhile. Are these others?"
        raise Stands(words, lot_as_it_stands(lot))
    form = MakePacketsForm(entry.typed, user=by, of_bank=lot.owner_id is None)
    return form, lambda: make_packets(lot=lot, by=by, at=moment, **form.cleaned_data)


def _sowing(entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime) -> Prepared:
    form = SowForm(entry.typed)
    steps = PretreatmentFormSet(entry.typed if STEPS_SENT in entry.typed else None, prefix="step")
    if steps.is_bound and not steps.is_valid():
        form.add_error(None, _first_fault(steps))
    return form, lambda: sow(
        packet=packet_typed(by, form.cleaned_data["packet"]),
        grower=by,
        by=by,
        at=moment,
        client_key=entry.key,
        pretreatments=pretreatments_of(steps) if steps.is_bound else (),
        **form.facts(),
    )


def _first_fault(steps: Any) -> str:
    return next(
        f"Step {place}: {messages[0]}"
        for place, errors in enumerate(steps.errors, start=1)
        for messages in errors.values()
    )


def _count(entry: Entry, by: Member, today: datetime.date, moment: datetime.datetime) -> Prepared:
    pots = list(loaded(sowing_for_writing(by, entry.about)).replicates.all())
    form = CountForm(entry.typed, pots=pots)
    return form, lambda: record_count(by=by, at=moment, **form.cleaned_data)


def _told_lot(lot: Lot) -> Told:
    packets = lot.packets.count()
    further = "packets-labels" if packets else "lot-detail"
    words = f"The seed is lot {lot.number}, {_in_packets(packets)}."
    return Told(words, reverse(further, args=[lot.number]), lot.number)


def _in_packets(packets: int) -> str:
    if not packets:
        return "loose"
    return "in one packet" if packets == 1 else f"in {packets} packets"


def _told_packets(packets: list[Packet]) -> Told:
    return _told_lot(packets[0].lot)


def _told_sowing(sowing: Sowing) -> Told:
    address = reverse("sowing-detail", args=[sowing.number])
    words = f"Sown: {sowing.number}. Write this number on the pot."
    return Told(words, address, sowing.number)


def _told_count(count: Count) -> Told:
    sowing = count.replicate.sowing
    address = reverse("sowing-detail", args=[sowing.number])
    return Told(f"{sowing.number}: {count.newly_seen} new, counted.", address, sowing.number)


SEED = {
    "packets": Kind(_packets, _told_lot, _lot_by_key),
    "lot-packets": Kind(_lot_packets, _told_packets),
    "sowing": Kind(
        _sowing,
        _told_sowing,
        lambda key, by: Sowing.objects.filter(client_key=key, grower=by).first(),
    ),
    "count": Kind(
        _count,
        _told_count,
        lambda key, by: Count.objects.filter(client_key=key, logged_by=by).first(),
        lambda entry, by: sowing_as_it_stands(sowing_for_writing(by, entry.about)),
    ),
}
