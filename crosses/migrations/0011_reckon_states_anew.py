"""Reckon states by the rules that close flowers never seen set, and that tell no pollen from a pollination."""

from itertools import groupby
from operator import itemgetter

from django.db import migrations

from crosses.calc.capsule import Seen, Taken, capsule_state
from crosses.calc.errors import BadInput

WAITED_FOR = ["waiting", "taken", "ripe"]


def reckon(apps, schema_editor):
    Pollination = apps.get_model("crosses", "Pollination")
    waited_for = Pollination.objects.filter(state__in=WAITED_FOR)
    waited_for.filter(pollen_seen=False, capsules_set=0).update(state="no_pollen")
    happened = _happened_to(apps, waited_for.values("pk"))
    for pk, flowers, state, capsules_set in waited_for.values_list(
        "pk", "flowers", "state", "capsules_set"
    ).iterator():
        try:
            found = capsule_state(flowers, happened.get(pk, []))
        except BadInput:
            # A record that contradicts itself stands as it was brought in.
            continue
        if (found.state, found.capsules_set) != (state, capsules_set):
            Pollination.objects.filter(pk=pk).update(
                state=found.state, capsules_set=found.capsules_set
            )


def _happened_to(apps, wanted):
    looks = apps.get_model("crosses", "Check").objects.filter(
        withdrawn_at=None, pollination__in=wanted
    )
    cut = apps.get_model("crosses", "HarvestedPollination").objects.filter(
        harvest__withdrawn_at=None, pollination__in=wanted
    )
    rows = [
        (pk, day, logged, 0, key, Seen(day, kind, flowers))
        for pk, day, logged, key, kind, flowers in looks.values_list(
            "pollination_id", "seen_on", "logged_at", "pk", "kind", "flowers"
        )
    ]
    rows += [
        (pk, day, logged, 1, key, Taken(day, capsules))
        for pk, day, logged, key, capsules in cut.values_list(
            "pollination_id", "harvest__harvested_on", "harvest__logged_at", "pk", "capsules"
        )
    ]
    rows.sort(key=itemgetter(0, 1, 2, 3, 4))
    return {pk: [row[-1] for row in each] for pk, each in groupby(rows, key=itemgetter(0))}


def back(apps, schema_editor):
    """A visit without pollen was a pollination that waits; the rest a look or harvest reckons anew."""
    apps.get_model("crosses", "Pollination").objects.filter(state="no_pollen").update(
        state="waiting"
    )


class Migration(migrations.Migration):
    dependencies = [("crosses", "0010_state_no_pollen")]

    operations = [migrations.RunPython(reckon, back)]
