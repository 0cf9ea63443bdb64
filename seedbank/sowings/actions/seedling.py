"""Keep seedlings of a sowing as plants of their own, with their parents known."""

import datetime

from django.db import transaction

from crosses.actions.plant import add_plant
from crosses.actions.rules import refuse_future
from crosses.base.refusal import Refused
from crosses.models import Plant
from seedbank.members.models import Member
from seedbank.sowings.actions.sowing import refuse_before_sowing
from seedbank.sowings.models import Seedling, Sowing

MOST_AT_ONCE = 100


@transaction.atomic
def keep_seedlings(
    *,
    sowing: Sowing,
    by: Member,
    at: datetime.datetime,
    names: list[str],
    pricked_out_on: datetime.date | None = None,
) -> list[Seedling]:
    """Write kept seedlings down as plants; `names` are what stands on their labels.

    A seedling of a recorded cross is raised from it. Others have the lot's name as their origin.
    """
    # Two people keeping at once wait for each other here, so that neither goes over what came up.
    Sowing.objects.select_for_update().get(pk=sowing.pk)
    _refuse_impossible(sowing, names)
    if pricked_out_on is not None:
        refuse_future(pricked_out_on, at=at, field="pricked_out_on")
        refuse_before_sowing(sowing, pricked_out_on, field="pricked_out_on")
    lot = sowing.packet.lot
    cross = lot.harvest.cross if lot.harvest else None
    seedlings = []
    for name in names:
        facts = (
            {"raised_from": cross, "origin": Plant.Origin.CROSS}
            if cross
            else {"taxon": lot.taxon, "origin": Plant.Origin.GARDEN}
        )
        plant = add_plant(
            keeper=sowing.grower,
            by=by,
            at=at,
            name_text=name,
            visibility=sowing.visibility,
            acquired_on=sowing.sown_on,
            **facts,
        )
        seedlings.append(
            Seedling.objects.create(sowing=sowing, plant=plant, pricked_out_on=pricked_out_on)
        )
    return seedlings


def _refuse_impossible(sowing: Sowing, names: list[str]) -> None:
    if not names or len(names) > MOST_AT_ONCE:
        raise Refused(
            "seedlings-how-many", f"Keep between 1 and {MOST_AT_ONCE} at a time.", field="names"
        )
    labels = list(sowing.seedlings.values_list("plant__name_text", flat=True))
    twice = next((name for at, name in enumerate(names) if name in [*labels, *names[:at]]), None)
    if twice is not None:
        raise Refused(
            "kept-already",
            f"A seedling of this sowing has “{twice}” on its label already.",
            field="names",
        )
    come_up = sum(sowing.replicates.values_list("germinated", flat=True))
    if len(labels) + len(names) > come_up:
        raise Refused(
            "more-than-came-up",
            f"{come_up} came up and {len(labels)} are kept already; {len(names)} more cannot be.",
            field="names",
        )
