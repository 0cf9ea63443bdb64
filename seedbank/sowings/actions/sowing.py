"""Sow seed of a packet, and close a sowing when nothing more is waited for."""

import datetime
import uuid
from collections.abc import Sequence
from typing import Any

from django.db import transaction

from crosses.actions.rules import refuse_broken_rules, refuse_future, written_day
from crosses.base.history import save_with_history
from crosses.base.idempotency import once
from crosses.base.numbers import next_number
from crosses.base.refusal import Refused
from crosses.base.withdrawal import withdraw
from seedbank.bank.actions.packet import move
from seedbank.bank.models import Movement, Packet
from seedbank.members.models import Member
from seedbank.sowings.facts import SOWING
from seedbank.sowings.models import Count, Pretreatment, Replicate, Sowing


@transaction.atomic
def sow(
    *,
    packet: Packet,
    grower: Member,
    by: Member,
    at: datetime.datetime,
    sown_on: datetime.date,
    seeds_sown: int,
    replicate_seeds: Sequence[int] | None = None,
    pretreatments: Sequence[Pretreatment] = (),
    client_key: uuid.UUID | None = None,
    is_recipients_report: bool = False,
    **facts: Any,
) -> Sowing:
    """Sow seeds of a packet, in one pot or in several that add up.

    `pretreatments` are unsaved, in the order in which they were done; `facts` are the other fields
    of Sowing.
    """

    def make() -> Sowing:
        held = (
            Packet.objects.select_for_update(of=("self",)).select_related("lot").get(pk=packet.pk)
        )
        pots = list(replicate_seeds) if replicate_seeds else [seeds_sown]
        _refuse_impossible(held, grower, sown_on, seeds_sown, pots, at)
        sowing = Sowing(
            packet=held,
            grower=grower,
            sown_on=sown_on,
            seeds_sown=seeds_sown,
            logged_at=at,
            client_key=client_key,
            is_recipients_report=is_recipients_report,
        )
        SOWING.set_on(sowing, facts)
        sowing.number = next_number("sowing")
        refuse_broken_rules(sowing)
        save_with_history(sowing, by=by)
        Replicate.objects.bulk_create(
            Replicate(sowing=sowing, position=position, seeds=seeds)
            for position, seeds in enumerate(pots, start=1)
        )
        _write_pretreatments(sowing, pretreatments)
        is_last = held.seeds_left == seeds_sown
        move(
            packet=held,
            kind=Movement.Kind.SOWN if is_last else Movement.Kind.PART_SOWN,
            by=by,
            at=at,
            seeds=seeds_sown,
            reference=sowing.number,
        )
        return sowing

    return once(Sowing, client_key, make)[0]


def _refuse_impossible(
    packet: Packet,
    grower: Member,
    sown_on: datetime.date,
    seeds_sown: int,
    pots: list[int],
    at: datetime.datetime,
) -> None:
    _refuse_not_in_hand(packet, grower)
    refuse_future(sown_on, at=at, field="sown_on")
    if packet.lot.collected_on and sown_on < packet.lot.collected_on:
        harvested = written_day(packet.lot.collected_on)
        raise Refused("before-harvest", f"This seed was harvested on {harvested}.", field="sown_on")
    if seeds_sown < 1:
        raise Refused("no-seed", "A sowing is of one seed or more.", field="seeds_sown")
    if seeds_sown > packet.seeds_left:
        raise Refused(
            "packet-short",
            f"{packet.number} holds {packet.seeds_left} seeds, not {seeds_sown}.",
            field="seeds_sown",
        )
    if min(pots) < 1 or sum(pots) != seeds_sown:
        raise Refused(
            "pots-sum",
            f"The pots add up to {sum(pots)} seeds, not to the {seeds_sown} sown.",
            field="replicate_seeds",
        )


def _refuse_not_in_hand(packet: Packet, grower: Member) -> None:
    """One sows what one has: a packet of one's own, or the bank's as a keeper's test."""
    is_theirs = packet.holder_id == grower.pk and packet.state in {
        Packet.State.WITH_MEMBER,
        Packet.State.SENT,
    }
    is_the_banks = packet.state == Packet.State.IN_STORE and grower.is_keeper
    if is_theirs or is_the_banks:
        return
    if packet.seeds_left == 0:
        raise Refused("packet-empty", f"{packet.number} is empty.", field="packet")
    raise Refused(
        "not-in-hand", f"{packet.number} is not a packet you have in hand.", field="packet"
    )


def _write_pretreatments(sowing: Sowing, pretreatments: Sequence[Pretreatment]) -> None:
    for position, step in enumerate(pretreatments, start=1):
        step.sowing = sowing
        step.position = position
        refuse_broken_rules(step)
    Pretreatment.objects.bulk_create(pretreatments)


@transaction.atomic
def close_sowing(
    *,
    sowing: Sowing,
    by: Member,
    at: datetime.datetime,
    closed_on: datetime.date,
    reason: str = "",
    left_fresh: int | None = None,
    left_dead: int | None = None,
    left_abnormal: int | None = None,
) -> Sowing:
    """Say that nothing more is waited for, and what the seeds that did not come looked like."""
    held = Sowing.objects.select_for_update().get(pk=sowing.pk)
    if held.closed_on is not None:
        raise Refused("closed", "This sowing is closed already.")
    refuse_future(closed_on, at=at, field="closed_on")
    last = (
        Count.objects.filter(replicate__sowing=held, withdrawn_at=None)
        .order_by("-counted_on")
        .values_list("counted_on", flat=True)
        .first()
    )
    if last is not None and closed_on < last:
        raise Refused(
            "counted-after", f"It was counted on {written_day(last)}, later.", field="closed_on"
        )
    # An abnormal seedling was counted as come up; fresh and dead seeds were not.
    come_up = sum(held.replicates.values_list("germinated", flat=True))
    if (left_abnormal or 0) > come_up:
        raise Refused(
            "abnormal-too-many",
            f"{left_abnormal} abnormal seedlings, but only {come_up} came up.",
            field="left_abnormal",
        )
    not_come = held.seeds_sown - come_up
    if (left_fresh or 0) + (left_dead or 0) > not_come:
        raise Refused(
            "left-too-many",
            f"{(left_fresh or 0) + (left_dead or 0)} seeds left, but only {not_come} did not"
            " come up.",
            field="left_dead",
        )
    held.closed_on = closed_on
    held.closed_reason = reason
    held.left_fresh, held.left_dead, held.left_abnormal = left_fresh, left_dead, left_abnormal
    refuse_broken_rules(held)
    save_with_history(held, by=by, why=reason or "closed")
    return held


@transaction.atomic
def reopen_sowing(*, sowing: Sowing, by: Member, why: str) -> Sowing:
    """Wait on: seed may come up after a second winter."""
    if not why.strip():
        raise Refused("why-missing", "Say why it is opened again.", field="why")
    held = Sowing.objects.select_for_update().get(pk=sowing.pk)
    if held.closed_on is None:
        raise Refused("open", "This sowing is open.")
    held.closed_on = None
    held.closed_reason = ""
    held.left_fresh = held.left_dead = held.left_abnormal = None
    save_with_history(held, by=by, why=why)
    return held


@transaction.atomic
def withdraw_sowing(*, sowing: Sowing, by: Member, at: datetime.datetime, reason: str) -> Sowing:
    """Take a sowing out of use. The seed is gone from its packet all the same."""
    return withdraw(sowing, by=by, at=at, reason=reason)


def refuse_before_sowing(sowing: Sowing, day: datetime.date, field: str) -> None:
    if day <= sowing.sown_on:
        raise Refused(
            "before-sowing",
            f"It was sown on {written_day(sowing.sown_on)}; the first look is a day later.",
            field=field,
        )
