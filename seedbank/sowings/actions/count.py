"""Count seedlings: new ones or all so far, never more than were sown."""

import datetime
import uuid

from django.db import IntegrityError, transaction
from django.db.models import F

from crosses.actions.rules import refuse_broken_rules, refuse_future, written_day
from crosses.base.history import save_with_history
from crosses.base.idempotency import once
from crosses.base.refusal import Refused
from crosses.base.withdrawal import withdraw
from seedbank.members.models import Member
from seedbank.sowings.actions.sowing import refuse_before_sowing
from seedbank.sowings.models import Count, Replicate


@transaction.atomic
def record_count(
    *,
    replicate: Replicate,
    by: Member,
    at: datetime.datetime,
    counted_on: datetime.date,
    number: int,
    typed_as: str = Count.TypedAs.NEW,
    note: str = "",
    client_key: uuid.UUID | None = None,
) -> Count:
    """Write down a look at one pot; a look that finds nothing new is worth a 0.

    A total is turned into new seedlings against the looks before that day, so that a forgotten
    look can be added between two others.
    """

    def make() -> Count:
        pot = (
            Replicate.objects.select_for_update(of=("self",))
            .select_related("sowing")
            .get(pk=replicate.pk)
        )
        _refuse_impossible_day(pot, counted_on, at)
        newly_seen = (
            number if typed_as == Count.TypedAs.NEW else _new_of_total(pot, counted_on, number)
        )
        if pot.germinated + newly_seen > pot.seeds:
            raise Refused(
                "more-than-sown",
                f"{pot.germinated + newly_seen} seedlings would be more than the {pot.seeds} seeds"
                " sown.",
                field="number",
            )
        count = Count(
            replicate=pot,
            counted_on=counted_on,
            newly_seen=newly_seen,
            typed_as=typed_as,
            typed_number=number,
            note=note,
            logged_by=by,
            logged_at=at,
            client_key=client_key,
        )
        refuse_broken_rules(count)
        save_with_history(count, by=by)
        _add_to_total(pot, newly_seen)
        return count

    return once(Count, client_key, make)[0]


def _refuse_impossible_day(
    pot: Replicate, counted_on: datetime.date, at: datetime.datetime
) -> None:
    refuse_future(counted_on, at=at, field="counted_on")
    refuse_before_sowing(pot.sowing, counted_on, field="counted_on")
    if pot.sowing.is_withdrawn:
        raise Refused("withdrawn", "This sowing has been withdrawn.")
    if pot.sowing.closed_on is not None and counted_on > pot.sowing.closed_on:
        raise Refused(
            "closed",
            f"This sowing was closed on {written_day(pot.sowing.closed_on)}."
            " Open it again to count on.",
            field="counted_on",
        )
    if pot.counts.filter(counted_on=counted_on, withdrawn_at=None).exists():
        raise Refused(
            "counted-that-day",
            f"This pot has a count of {written_day(counted_on)}. Withdraw that one to correct it.",
            field="counted_on",
        )


def _new_of_total(pot: Replicate, counted_on: datetime.date, total: int) -> int:
    looks = pot.counts.filter(withdrawn_at=None).values_list("counted_on", "newly_seen")
    before = sum(newly_seen for day, newly_seen in looks if day < counted_on)
    if total < before:
        raise Refused(
            "total-falls",
            f"{before} had come up before that day; a total of {total} is fewer.",
            field="number",
        )
    if total > before and any(day > counted_on for day, _newly_seen in looks):
        raise Refused(
            "total-between",
            "There is a later look; between two looks, type the new seedlings only.",
            field="number",
        )
    return total - before


def _add_to_total(pot: Replicate, seedlings: int) -> None:
    """Keep the pot's total; the check on it refuses what two counters together overdo."""
    try:
        with transaction.atomic():
            Replicate.objects.filter(pk=pot.pk).update(germinated=F("germinated") + seedlings)
    except IntegrityError as error:
        raise Refused(
            "more-than-sown", "More seedlings than seeds were sown.", field="number"
        ) from error


@transaction.atomic
def withdraw_count(*, count: Count, by: Member, at: datetime.datetime, reason: str) -> Count:
    """Take a wrong count back; the pot's total falls by what it had added."""
    pot = Replicate.objects.select_for_update().get(pk=count.replicate_id)
    withdraw(count, by=by, at=at, reason=reason)
    _add_to_total(pot, -count.newly_seen)
    return count
