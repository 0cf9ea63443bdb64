"""Write a plant down, correct it, and say that it died."""

import datetime
from collections.abc import Sequence
from typing import Any

from django.db import transaction
from django.db.models import Q
from simple_history.utils import bulk_create_with_history

from crosses.actions.rules import (
    refuse_broken_fields,
    refuse_broken_rules,
    refuse_future,
    refuse_withdrawn,
    written_day,
)
from crosses.base.history import save_with_history
from crosses.base.numbers import next_number, next_numbers
from crosses.base.refusal import Refused
from crosses.base.visibility import Visibility
from crosses.base.withdrawal import withdraw
from crosses.calc.pedigree.lineage import would_make_loop
from crosses.facts.plant import PLANT
from crosses.models import Cross, Plant
from crosses.queries.pedigree import parents_above
from crosses.queries.written import parents_of


def _refuse_loop(plant: Plant) -> None:
    """Refuse a descent through which the plant would be its own ancestor."""
    above: list[Plant] = []
    if plant.raised_from is not None:
        parents = parents_of(plant.raised_from)
        above = [parents.seed_parent, *(giver for giver, _part in parents.pollen)]
    elif plant.propagated_from is not None:
        above = [plant.propagated_from]
    known = parents_above([parent.number for parent in above])
    field = "raised_from" if plant.raised_from else "propagated_from"
    for parent in above:
        loop = would_make_loop(known, plant.number, parent.number)
        if loop:
            raise Refused(
                "own-ancestor",
                f"{plant.number} would be its own ancestor: {' from '.join(map(str, loop))}.",
                field=field,
            )


def _refuse_impossible(plant: Plant) -> None:
    if plant.died_on and plant.acquired_on and plant.died_on < plant.acquired_on:
        raise Refused("died-before", "It died before it was acquired?", field="died_on")
    if plant.origin == Plant.Origin.CROSS and plant.raised_from_id is None:
        raise Refused("cross-missing", "Which cross was it raised from?", field="raised_from")
    if plant.origin == Plant.Origin.DIVISION and plant.propagated_from_id is None:
        raise Refused(
            "source-missing", "Which plant was it propagated from?", field="propagated_from"
        )
    if plant.stated_inbreeding is not None and (plant.raised_from_id or plant.propagated_from_id):
        raise Refused(
            "inbreeding-follows",
            "Its inbreeding follows from its parents and cannot be stated.",
            field="stated_inbreeding",
        )


def _refuse_hiding_a_parent(plant: Plant) -> None:
    """A cross that the society may see shows its parents' names."""
    if plant.visibility != Visibility.ME or plant.pk is None:
        return
    shown = (
        Cross.objects.filter(visibility=Visibility.SOCIETY, withdrawn_at=None)
        .filter(Q(seed_parent=plant) | Q(pollen_parent=plant) | Q(pollen_shares__plant=plant))
        .first()
    )
    if shown is not None:
        raise Refused(
            "parent-is-shown",
            f"The society sees this plant as a parent in cross {shown.number}; hide that first.",
            field="visibility",
        )


def refuse_unasked_second(*, keeper: Any, name_text: str, own_label: str, **others: Any) -> None:
    """Ask before a grower's second plant of one name and label: nothing would tell the two apart."""
    first = Plant.objects.filter(
        keeper=keeper,
        name_text=name_text.strip(),
        own_label=own_label.strip(),
        withdrawn_at__isnull=True,
        died_on__isnull=True,
    ).first()
    if first is not None:
        raise Refused(
            "plant-there",
            f"You have {first.number} of this name and label. Add a second one?",
            choices=[("yes", "Add a second one")],
        )


@transaction.atomic
def add_plant(
    *, keeper: Any, by: Any, at: datetime.datetime, name_text: str, **facts: Any
) -> Plant:
    """Write a plant down under its next number; `facts` are what is declared of a plant."""
    plant = Plant(keeper=keeper, name_text=name_text.strip())
    PLANT.set_on(plant, facts)
    for field in ("acquired_on", "died_on", "wild_on"):
        refuse_future(getattr(plant, field), at=at, field=field)
    _refuse_impossible(plant)
    plant.number = next_number("plant")
    refuse_broken_rules(plant)
    save_with_history(plant, by=by)
    return plant


@transaction.atomic
def add_plants(*, plants: Sequence[Plant], by: Any, at: datetime.datetime) -> Sequence[Plant]:
    """Write many plants of a table down at once; refuses all for one that breaks a rule.

    What `add_plant` asks the database beforehand, the database itself refuses here.
    """
    for plant in plants:
        for field in ("acquired_on", "died_on", "wild_on"):
            refuse_future(getattr(plant, field), at=at, field=field)
        _refuse_impossible(plant)
        refuse_broken_fields(plant)
    for plant, number in zip(plants, next_numbers("plant", len(plants)), strict=True):
        plant.number = number
    bulk_create_with_history(plants, Plant, batch_size=500, default_user=by)
    return plants


@transaction.atomic
def change_plant(*, plant: Plant, by: Any, why: str, **facts: Any) -> Plant:
    """Correct what was written of a plant; what it said before stays in its history."""
    refuse_withdrawn(plant, "plant")
    PLANT.set_on(plant, facts)
    _refuse_impossible(plant)
    _refuse_loop(plant)
    _refuse_hiding_a_parent(plant)
    refuse_broken_rules(plant)
    save_with_history(plant, by=by, why=why)
    return plant


@transaction.atomic
def mark_dead(
    *, plant: Plant, by: Any, at: datetime.datetime, died_on: datetime.date, why: str = ""
) -> Plant:
    refuse_future(died_on, at=at, field="died_on")
    if plant.died_on is not None:
        raise Refused("dead-already", f"It was marked dead on {written_day(plant.died_on)}.")
    return change_plant(plant=plant, by=by, why=why or "died", died_on=died_on)


@transaction.atomic
def withdraw_plant(*, plant: Plant, by: Any, at: datetime.datetime, reason: str) -> Plant:
    """Take a plant written by mistake out of use; a plant with crosses or offspring stays."""
    in_use = Cross.objects.filter(withdrawn_at=None).filter(
        Q(seed_parent=plant) | Q(pollen_parent=plant) | Q(pollen_shares__plant=plant)
    )
    if in_use.exists():
        raise Refused(
            "has-crosses",
            "This plant stands in a cross. Withdraw the cross first, or mark it dead.",
        )
    if plant.divisions.filter(withdrawn_at=None).exists():
        raise Refused("has-divisions", "Other plants were propagated from this one.")
    return withdraw(plant, by=by, at=at, reason=reason)
