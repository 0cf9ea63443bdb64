"""The counts of a table: the plain ones at once, the others are left to be done one by one."""

import datetime
from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise

from django.db import transaction
from simple_history.utils import bulk_create_with_history

from crosses.actions.rules import day_of
from seedbank.members.models import Member
from seedbank.sowings.models import Count, Replicate


@transaction.atomic
def record_new_counts(*, counts: Sequence[Count], by: Member, at: datetime.datetime) -> set[int]:
    """Save looks for new seedlings that are plainly in order; return the `id()` of those left out.

    Left out are all looks of a pot of which one is out of the ordinary: `record_count` does them
    one by one and says in words what is wrong.
    """
    by_pot: dict[int, list[Count]] = defaultdict(list)
    for count in counts:
        by_pot[count.replicate_id].append(count)
    pots = {
        pot.pk: pot
        for pot in Replicate.objects.select_for_update(of=("self",))
        .select_related("sowing")
        .filter(pk__in=by_pot)
        .order_by("pk")
    }
    looks: dict[int, list[Count]] = defaultdict(list)
    for look in Count.objects.filter(replicate__in=pots, withdrawn_at=None):
        looks[look.replicate_id].append(look)
    left: set[int] = set()
    saved: list[Count] = []
    for key, fresh in by_pot.items():
        pot = pots[key]
        if not _is_plain(pot, looks[key], fresh, at):
            left |= {id(count) for count in fresh}
            continue
        pot.germinated += sum(count.newly_seen for count in fresh)
        saved += fresh
    bulk_create_with_history(saved, Count, batch_size=500, default_user=by)
    touched = {count.replicate_id for count in saved}
    Replicate.objects.bulk_update([pots[key] for key in touched], ["germinated"], batch_size=200)
    return left


def _is_plain(
    pot: Replicate, looks: list[Count], fresh: list[Count], at: datetime.datetime
) -> bool:
    """Tell whether looks can be added to a pot without weighing them against the others."""
    sowing = pot.sowing
    days = sorted(count.counted_on for count in (*looks, *fresh))
    new_days = [count.counted_on for count in fresh]
    return not (
        sowing.is_withdrawn
        or min(new_days) <= sowing.sown_on
        or max(new_days) > day_of(at)
        or (sowing.closed_on is not None and max(new_days) > sowing.closed_on)
        or any(one == other for one, other in pairwise(days))
        or any(look.typed_as == Count.TypedAs.TOTAL for look in looks)
        or pot.germinated + sum(count.newly_seen for count in fresh) > pot.seeds
        or any(len(count.note) > 200 for count in fresh)
    )
