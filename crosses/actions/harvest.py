"""Take capsules in, and say how many seeds were in them."""

import datetime
import uuid
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.db import transaction

from crosses.actions.capsule import reckon_state
from crosses.actions.rules import (
    refuse_before_pollination,
    refuse_broken_rules,
    refuse_future,
    refuse_withdrawn,
)
from crosses.base.history import save_with_history
from crosses.base.idempotency import once
from crosses.base.numbers import next_number
from crosses.base.refusal import Refused
from crosses.base.withdrawal import withdraw
from crosses.calc.errors import BadInput
from crosses.facts.harvest import HARVEST
from crosses.models import Cross, Harvest, HarvestedPollination, Pollination, SeedSample
from crosses.queries.capsules import state_of
from crosses.queries.harvests import seeds_by_weight

Samples = Sequence[tuple[int, Decimal]]
SURE = 100
# Before the number of the pollination.
CAPSULES_OF = "capsules_"


def capsules_field(pollination: Pollination) -> str:
    """Name of the input in which the capsules of one pollination are typed."""
    return f"{CAPSULES_OF}{pollination.number}"


def _held(
    cross: Cross, capsules: Sequence[tuple[Pollination, int]]
) -> list[tuple[Pollination, int]]:
    """Return the pollinations, locked, with their capsules; refuse those of another cross."""
    if not capsules:
        raise Refused("no-capsules", "Which flowers do the capsules come from?", field="")
    wanted = [pollination.pk for pollination, _number in capsules]
    if len(set(wanted)) != len(wanted):
        raise Refused("flower-twice", "A pollination stands in a harvest once.")
    locked = Pollination.objects.select_for_update().in_bulk(wanted)
    held = [(locked[pollination.pk], number) for pollination, number in capsules]
    if any(pollination.cross_id != cross.pk for pollination, _number in held):
        raise Refused("other-cross", "A harvest is of one cross; log the other by itself.")
    return held


def _refuse_impossible_capsules(
    held: list[tuple[Pollination, int]], harvested_on: datetime.date
) -> None:
    for pollination, number in held:
        field = capsules_field(pollination)
        refuse_withdrawn(pollination, "pollination")
        if number < 1:
            raise Refused("no-capsule", "A harvest is of one capsule or more.", field=field)
        refuse_before_pollination(
            harvested_on, pollination, pollination.number, field="harvested_on"
        )
        may_bear = state_of(pollination).may_bear
        if number > may_bear:
            raise Refused(
                "more-than-open",
                f"{number} capsules, but only {may_bear} of its {pollination.flowers} flowers"
                " can still bear one.",
                field=field,
            )


def _count(
    harvest: Harvest, seeds: int | None, samples: Samples, clean_grams: Decimal | None
) -> None:
    """Put the number of seeds into the harvest, as far as it is known and how it is known."""
    harvest.clean_grams = clean_grams
    if harvest.seed_counting == Harvest.SeedCounting.SAMPLED:
        _count_by_weight(harvest, samples, clean_grams)
        return
    if samples:
        raise Refused("samples-unused", "Weighed samples belong to seed reckoned by weight.")
    if harvest.seed_counting == Harvest.SeedCounting.NOT_YET:
        if seeds is not None:
            raise Refused(
                "counted-after-all",
                "You gave a number: counted, or guessed?",
                field="seed_counting",
                choices=[
                    (Harvest.SeedCounting.COUNTED, "Counted"),
                    (Harvest.SeedCounting.GUESSED, "Guessed"),
                ],
            )
    elif seeds is None:
        raise Refused("seeds-missing", "How many seeds?", field="seeds")
    harvest.seeds = seeds


def _count_by_weight(harvest: Harvest, samples: Samples, clean_grams: Decimal | None) -> None:
    try:
        count = seeds_by_weight(samples, clean_grams)
    except BadInput as no:
        raise Refused("samples-impossible", no.message, field=no.field) from no
    harvest.seeds, harvest.seeds_low, harvest.seeds_high = count.seeds, count.low, count.high
    harvest.seeds_standard_error = count.standard_error
    harvest.thousand_seed_weight_grams = count.thousand_seed_weight_grams


def _write_samples(harvest: Harvest, samples: Samples, *, by: Any) -> None:
    for seeds, grams in samples:
        save_with_history(SeedSample(harvest=harvest, seeds=seeds, grams=grams), by=by)


def _refuse_untold_certainty(harvest: Harvest) -> None:
    by_tag = harvest.identified_by == Harvest.IdentifiedBy.TAG
    if not by_tag and harvest.certainty_percent == SURE:
        raise Refused(
            "certainty-missing",
            "Without its tag, how sure are you of the cross? Less than 100 percent.",
            field="certainty_percent",
        )


@transaction.atomic
def log_harvest(
    *,
    cross: Cross,
    by: Any,
    at: datetime.datetime,
    harvested_on: datetime.date,
    capsules: Sequence[tuple[Pollination, int]],
    seed_counting: str,
    seeds: int | None = None,
    samples: Samples = (),
    clean_grams: Decimal | None = None,
    client_key: uuid.UUID | None = None,
    **facts: Any,
) -> Harvest:
    """Write a harvest down: so many capsules of which pollinations, and the seed that was in them.

    `samples` are (seeds, grams) of counted and weighed samples; with them the number of seeds and
    its interval are reckoned from `clean_grams`.
    """
    refuse_withdrawn(cross, "cross")
    refuse_future(harvested_on, at=at, field="harvested_on")

    def make() -> Harvest:
        held = _held(cross, capsules)
        _refuse_impossible_capsules(held, harvested_on)
        harvest = Harvest(
            cross=cross,
            harvested_on=harvested_on,
            seed_counting=seed_counting,
            logged_by=by,
            logged_at=at,
            client_key=client_key,
        )
        HARVEST.set_on(harvest, facts)
        _refuse_untold_certainty(harvest)
        _count(harvest, seeds, samples, clean_grams)
        harvest.number = next_number("harvest")
        refuse_broken_rules(harvest)
        save_with_history(harvest, by=by)
        HarvestedPollination.objects.bulk_create(
            HarvestedPollination(harvest=harvest, pollination=pollination, capsules=number)
            for pollination, number in held
        )
        _write_samples(harvest, samples, by=by)
        for pollination, _number in held:
            reckon_state(pollination, by)
        return harvest

    return once(Harvest, client_key, make)[0]


@transaction.atomic
def count_seeds(
    *,
    harvest: Harvest,
    by: Any,
    seed_counting: str,
    seeds: int | None = None,
    samples: Samples = (),
    clean_grams: Decimal | None = None,
    why: str = "",
    **facts: Any,
) -> Harvest:
    """Say how many seeds a harvest had, when that was not known or is known better."""
    refuse_withdrawn(harvest, "harvest")
    HARVEST.set_on(harvest, facts)
    harvest.seed_counting = seed_counting
    harvest.seeds_low = harvest.seeds_high = harvest.seeds_standard_error = None
    harvest.thousand_seed_weight_grams = None
    harvest.seeds = None
    _count(harvest, seeds, samples, clean_grams)
    refuse_broken_rules(harvest)
    save_with_history(harvest, by=by, why=why or "seeds counted")
    # Their history keeps the samples of the earlier count.
    harvest.samples.all().delete()
    _write_samples(harvest, samples, by=by)
    return harvest


@transaction.atomic
def withdraw_harvest(*, harvest: Harvest, by: Any, at: datetime.datetime, reason: str) -> Harvest:
    """Take a harvest back; its capsules are open questions again."""
    withdraw(harvest, by=by, at=at, reason=reason)
    wanted = harvest.pollinations.values("pollination")
    for pollination in Pollination.objects.select_for_update().filter(pk__in=wanted):
        reckon_state(pollination, by)
    return harvest
