"""Count seedlings: new ones or all so far, never more than were sown."""

import datetime
import uuid
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import F

from crosses.actions.rules import refuse_broken_rules, refuse_future, written_day
from crosses.base.history import save_with_history
from crosses.base.idempotency import once
from crosses.base.refusal import Refused
from crosses.base.withdrawal import withdraw
from seedbank.members.models import Member
from seedbank.sowings.actions.sowing import refuse_before_sowing
from seedbank.sowings.facts import COUNT
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
    client_key: uuid.UUID | None = None,
    **facts: Any,
) -> Count:
    """Write down a look at one pot; a look that finds nothing new is worth a 0.

    A total counts the seedlings that came since the look before it, so a look that was forgotten
    can be added between two others.
    """

    def make() -> Count:
        pot = (
            Replicate.objects.select_for_update(of=("self", "sowing"))
            .select_related("sowing")
            .get(pk=replicate.pk)
        )
        looks = _looks(pot)
        _refuse_impossible_day(pot, looks, counted_on, at)
        if typed_as == Count.TypedAs.TOTAL:
            _refuse_total_before_new(looks, counted_on)
        count = Count(
            replicate=pot,
            counted_on=counted_on,
            newly_seen=number,
            typed_as=typed_as,
            typed_number=number,
            logged_by=by,
            logged_at=at,
            client_key=client_key,
        )
        COUNT.set_on(count, facts)
        total = _settle([*looks, count], pot, by=by)
        refuse_broken_rules(count)
        save_with_history(count, by=by)
        _add_to_total(pot, total - pot.germinated)
        return count

    return once(Count, client_key, make)[0]


def _looks(pot: Replicate) -> list[Count]:
    return list(pot.counts.filter(withdrawn_at=None).order_by("counted_on"))


def _refuse_impossible_day(
    pot: Replicate, looks: list[Count], counted_on: datetime.date, at: datetime.datetime
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
    if any(look.counted_on == counted_on for look in looks):
        raise Refused(
            "counted-that-day",
            f"This pot has a count of {written_day(counted_on)}. Withdraw that one to correct it.",
            field="counted_on",
        )


def _refuse_total_before_new(looks: list[Count], counted_on: datetime.date) -> None:
    """A later look for new seedlings may have found some of these too; nobody can tell now."""
    after = next((look for look in looks if look.counted_on > counted_on), None)
    if after is not None and after.typed_as == Count.TypedAs.NEW:
        raise Refused(
            "total-between",
            "There is a later look; between two looks, type the new seedlings only.",
            field="number",
        )


def _settle(looks: list[Count], pot: Replicate, *, by: Member) -> int:
    """Tell the looks at a pot in the order of their days, and return how many have come up.

    A total stands as it was typed: what is new in it changes with the looks before it.
    """
    so_far = 0
    for look in sorted(looks, key=lambda look: look.counted_on):
        is_total = look.typed_as == Count.TypedAs.TOTAL
        newly_seen = look.typed_number - so_far if is_total else look.typed_number
        if newly_seen < 0:
            raise Refused(
                "total-falls",
                f"{so_far} had come up before {written_day(look.counted_on)}; the total of"
                f" {look.typed_number} counted then is fewer.",
                field="number",
            )
        so_far += newly_seen
        if so_far > pot.seeds:
            raise Refused(
                "more-than-sown",
                f"{so_far} seedlings would be more than the {pot.seeds} seeds sown.",
                field="number",
            )
        if newly_seen != look.newly_seen:
            look.newly_seen = newly_seen
            if look.pk:
                save_with_history(look, by=by, why="an earlier look was added or withdrawn")
    return so_far


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
    """Take a wrong count back; a later total stands, and what is new in it is told anew."""
    pot = Replicate.objects.select_for_update().get(pk=count.replicate_id)
    withdraw(count, by=by, at=at, reason=reason)
    _add_to_total(pot, _settle(_looks(pot), pot, by=by) - pot.germinated)
    return count


@transaction.atomic
def forget_count_key(*, count: Count, by: Member) -> Count:
    """Let the key of a count go before it is withdrawn, so that its correction can have it."""
    count.client_key = None
    save_with_history(count, by=by, why="to be counted again", fields=["client_key"])
    return count
