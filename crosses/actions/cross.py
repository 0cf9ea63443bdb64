"""Plan a cross: a seed parent, its pollen, one direction, one season."""

import datetime
import uuid
from collections.abc import Sequence
from typing import Any

from django.db import transaction

from crosses.actions.rules import refuse_broken_rules, refuse_withdrawn
from crosses.base.history import save_with_history
from crosses.base.idempotency import once
from crosses.base.numbers import next_number
from crosses.base.refusal import Refused
from crosses.base.visibility import Visibility
from crosses.base.withdrawal import withdraw
from crosses.facts.cross import CROSS
from crosses.models import Cross, Plant, PollenShare
from crosses.queries.seasons import suggested_own_number

Mixture = Sequence[tuple[Plant, int]]


def _refuse_impossible_pair(cross: Cross, mixture: Mixture) -> None:
    if cross.pollen == Cross.Pollen.PLANT and cross.pollen_parent is None:
        raise Refused("pollen-missing", "Which plant gave the pollen?", field="pollen_parent")
    if cross.pollen_parent is not None and cross.pollen_parent == cross.seed_parent:
        raise Refused(
            "same-plant",
            "The same plant on both sides is a selfing: choose 'its own pollen (self)'.",
            field="pollen_parent",
        )
    for field, plant in (
        ("seed_parent", cross.seed_parent),
        ("pollen_parent", cross.pollen_parent),
    ):
        if plant is not None and plant.is_withdrawn:
            raise Refused("parent-withdrawn", f"{plant.number} has been withdrawn.", field=field)
    _refuse_impossible_mixture(cross, mixture)


def _refuse_impossible_mixture(cross: Cross, mixture: Mixture) -> None:
    if (cross.pollen == Cross.Pollen.MIXED) != bool(mixture):
        raise Refused(
            "mixture", "Name the plants of the mixture, and only of one.", field="mixture"
        )
    if not mixture:
        return
    if len({plant.pk for plant, _parts in mixture}) != len(mixture) or len(mixture) < 2:
        raise Refused("mixture", "A mixture is of two plants or more, each once.", field="mixture")
    if any(parts < 1 for _plant, parts in mixture):
        raise Refused("mixture", "Each plant is one part of the mixture or more.", field="mixture")
    if any(plant.is_withdrawn for plant, _parts in mixture):
        raise Refused("parent-withdrawn", "A plant of the mixture is withdrawn.", field="mixture")


def _refuse_taken_own_number(cross: Cross) -> None:
    others = Cross.objects.filter(
        grower=cross.grower, season=cross.season, own_number=cross.own_number
    ).exclude(pk=cross.pk)
    other = others.first()
    if other is not None:
        raise Refused(
            "own-number-taken",
            f"You have used {cross.own_number} for {other.number} of {cross.season} already.",
            field="own_number",
            choices=[
                (free := suggested_own_number(cross.grower, cross.season), f"Number it {free}")
            ],
        )


def _refuse_wrong_reciprocal(cross: Cross) -> None:
    other = cross.reciprocal_of
    if other is None:
        return
    swapped = (other.pollen_parent_id, other.seed_parent_id)
    if (cross.seed_parent_id, cross.pollen_parent_id) != swapped or cross.season != other.season:
        raise Refused(
            "not-reciprocal",
            f"The reciprocal of {other.number} has its parents swapped, in the same season.",
            field="reciprocal_of",
        )


def _visible_as_its_parents(cross: Cross, mixture: Mixture) -> str:
    """A cross shows its parents' names, so it is no more visible than they are."""
    parents = [cross.seed_parent, cross.pollen_parent, *(plant for plant, _parts in mixture)]
    hidden = any(plant is not None and plant.visibility == Visibility.ME for plant in parents)
    return Visibility.ME if hidden else cross.visibility


@transaction.atomic
def plan_cross(
    *,
    grower: Any,
    by: Any,
    at: datetime.datetime,
    own_number: str,
    season: int,
    seed_parent: Plant,
    pollen: str = Cross.Pollen.PLANT,
    pollen_parent: Plant | None = None,
    mixture: Mixture = (),
    reciprocal_of: Cross | None = None,
    client_key: uuid.UUID | None = None,
    **facts: Any,
) -> Cross:
    """Write a cross down; an empty `own_number` takes the grower's next of the season."""

    def make() -> Cross:
        # The number first: its series is the lock under which own numbers are looked at.
        number = next_number("cross")
        cross = Cross(
            number=number,
            own_number=own_number.strip() or suggested_own_number(grower, season),
            grower=grower,
            season=season,
            seed_parent=seed_parent,
            pollen=pollen,
            pollen_parent=pollen_parent,
            reciprocal_of=reciprocal_of,
            client_key=client_key,
        )
        CROSS.set_on(cross, facts)
        _refuse_impossible_pair(cross, mixture)
        _refuse_taken_own_number(cross)
        _refuse_wrong_reciprocal(cross)
        cross.visibility = _visible_as_its_parents(cross, mixture)
        refuse_broken_rules(cross)
        save_with_history(cross, by=by)
        PollenShare.objects.bulk_create(
            PollenShare(cross=cross, plant=plant, parts=parts) for plant, parts in mixture
        )
        return cross

    return once(Cross, client_key, make)[0]


@transaction.atomic
def change_cross(*, cross: Cross, by: Any, why: str = "", **facts: Any) -> Cross:
    """Correct what may be corrected of a cross: its number, its aim, who may see it.

    Its parents are not changed: seed, tags and seedlings hang on them. A cross whose parents were
    written wrong is withdrawn and planned again.
    """
    refuse_withdrawn(cross, "cross")
    if wrong := facts.keys() - {fact.name for fact in CROSS.written(making=False)}:
        raise Refused("fixed", f"This is not changed on a cross: {', '.join(sorted(wrong))}.")
    CROSS.set_on(cross, facts)
    _refuse_taken_own_number(cross)
    mixture = [(share.plant, share.parts) for share in cross.pollen_shares.select_related("plant")]
    if _visible_as_its_parents(cross, mixture) != cross.visibility:
        raise Refused(
            "parent-hidden",
            "A parent of this cross is visible only to you; show the plant first.",
            field="visibility",
        )
    refuse_broken_rules(cross)
    save_with_history(cross, by=by, why=why)
    return cross


@transaction.atomic
def withdraw_cross(*, cross: Cross, by: Any, at: datetime.datetime, reason: str) -> Cross:
    if cross.pollinations.filter(withdrawn_at=None).exists():
        raise Refused("has-flowers", "Flowers were pollinated for this cross; withdraw them first.")
    if cross.seedlings.filter(withdrawn_at=None).exists():
        raise Refused("has-seedlings", "Plants were raised from this cross.")
    return withdraw(cross, by=by, at=at, reason=reason)
