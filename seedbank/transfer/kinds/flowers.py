"""Pollinations, looks at capsules, and harvests."""

from decimal import Decimal
from typing import Any

from crosses.actions.capsule import record_check
from crosses.actions.cross import plan_cross
from crosses.actions.harvest import capsules_field, count_seeds, log_harvest
from crosses.actions.pollination import add_touch_up, change_pollination, log_pollination
from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from crosses.facts.capsule import CHECK
from crosses.facts.harvest import HARVEST
from crosses.facts.pollination import POLLINATION
from crosses.models import Check, Cross, Harvest, Pollination
from crosses.queries.seasons import cross_of_pair
from seedbank.formats.tables import Column, Shape
from seedbank.members.models import Member
from seedbank.transfer.cells import Cells, key_of
from seedbank.transfer.facts import columns_of, read_facts, said_facts
from seedbank.transfer.finding import (
    changed_facts,
    facts_before,
    member_in,
    plant_in,
    pollination_in,
    refuse_other_facts,
    refuse_withdrawn_row,
)
from seedbank.transfer.kind import NOTHING_NEW, BroughtBy, Group, Kind, Outcome, changed, made


def _pollination(rows: Group) -> Outcome:
    cells = rows[0]
    grower = member_in(cells, "grower")
    importing = cells.importing
    key = key_of("pollination", grower.number, cells.needed("key"))
    facts = read_facts(cells, POLLINATION)
    known = Pollination.objects.filter(client_key=key).first()
    if known is not None:
        refuse_withdrawn_row(known, "pollination", "key")
        said = said_facts(cells, POLLINATION, facts)
        before = facts_before(known, said)
        if not before:
            return NOTHING_NEW
        new = changed_facts(known, said)
        change_pollination(
            pollination=known, by=importing.by, at=importing.at, why="imported again", **new
        )
        return changed(known, before)
    pollination = log_pollination(
        cross=_cross(cells, grower, facts["pollinated_on"].year),
        by=importing.by,
        at=importing.at,
        client_key=key,
        **facts,
    )
    touched_up_on = cells.day("touched_up_on")
    if touched_up_on is not None:
        add_touch_up(
            pollination=pollination, by=importing.by, at=importing.at, done_on=touched_up_on
        )
    return made(pollination)


def _cross(cells: Cells, grower: Member, year: int) -> Cross:
    """Return the grower's cross of that number and season, or of that pair; else plan it."""
    season = cells.whole("season", default=year) or year
    own_number = cells.text("cross")
    known = Cross.objects.filter(
        grower=grower, own_number=own_number, season=season, withdrawn_at=None
    ).first()
    if known is not None:
        return known
    seed_parent = cells.attempt(plant_in, cells, "seed_parent", grower)
    pollen_parent = cells.attempt(plant_in, cells, "pollen_parent", grower)
    cells.refuse_if_wrong()
    if seed_parent is None:
        raise BadInput(
            "There is no such cross; name its seed parent and pollen to make it.", field="cross"
        )
    pollen = cells.choice("pollen", Cross.Pollen.values, Cross.Pollen.PLANT)
    found = cross_of_pair(grower, season, seed_parent, pollen, pollen_parent, own_number)
    return found or plan_cross(
        grower=grower,
        by=cells.importing.by,
        at=cells.importing.at,
        own_number=own_number,
        season=season,
        seed_parent=seed_parent,
        pollen=pollen,
        pollen_parent=pollen_parent,
    )


_GROWER = Column("grower", help="Member number of whose it is; empty: you.")

POLLINATIONS = Kind(
    name="pollinations",
    title="Pollinations",
    columns=(
        Column(
            "key",
            ("tag",),
            required=True,
            help="Your name for it, as on the tag; the same one later is the same flower.",
        ),
        Column("cross", ("own_number",), help="Your number of its cross."),
        Column(
            "season",
            help="Year of that cross; empty: the year of the date.",
            shape=Shape.WHOLE,
            minimum=1800,
        ),
        _GROWER,
        Column("seed_parent", help="Who bears the seed, where the cross is not in yet."),
        Column(
            "pollen",
            help="Where the pollen came from, where the cross is not in yet.",
            shape=Shape.CHOICE,
            choices=tuple(Cross.Pollen.values),
        ),
        Column("pollen_parent", help="Who gave the pollen, where the cross is not in yet."),
        *columns_of(POLLINATION),
        Column("touched_up_on", help="Day of a second load of pollen.", shape=Shape.DATE),
    ),
    act=_pollination,
    told_apart_by=("key", "grower"),
    brought_by=BroughtBy.MEMBER,
)


def _check(rows: Group) -> Outcome:
    cells = rows[0]
    grower = member_in(cells, "grower")
    pollination = pollination_in(cells, "pollination", grower)
    facts = read_facts(cells, CHECK)
    key = key_of("check", pollination.pk, facts["seen_on"], facts["kind"], facts["flowers"] or "")
    known = Check.objects.filter(client_key=key).first()
    if known is not None:
        refuse_withdrawn_row(known, "look", "pollination")
        wrong = "A look is not changed by a table: take it back and log it again."
        refuse_other_facts(known, said_facts(cells, CHECK, facts), wrong)
        return NOTHING_NEW
    check = record_check(
        pollination=pollination,
        by=cells.importing.by,
        at=cells.importing.at,
        client_key=key,
        **facts,
    )
    return made(check)


CHECKS = Kind(
    name="checks",
    title="Looks at capsules",
    columns=(
        Column(
            "pollination",
            ("key", "tag"),
            required=True,
            help="The key or number of the pollination.",
        ),
        *columns_of(CHECK),
        _GROWER,
    ),
    act=_check,
    brought_by=BroughtBy.MEMBER,
)


def _samples(cells: Cells) -> list[tuple[int, Decimal]]:
    samples = []
    for sample in cells.listed("samples"):
        seeds, _, grams = sample.partition(" ")
        try:
            samples.append((int(seeds), Decimal(grams)))
        except (ValueError, ArithmeticError):
            raise BadInput(
                f"'{sample}' is no sample; write seeds and grams: 1000 0.41.", field="samples"
            ) from None
    return samples


def _harvest(rows: Group) -> Outcome:
    """One harvest; several rows with its key are the capsules of several pollinations."""
    first = rows[0]
    importing = first.importing
    grower = member_in(first, "grower")
    key = key_of("harvest", grower.number, first.needed("key"))
    capsules = [
        (
            cells.attempt(pollination_in, cells, "pollination", grower),
            cells.needed_whole("capsules", minimum=1),
        )
        for cells in rows
    ]
    samples = first.attempt(_samples, first)
    for cells in rows:
        cells.refuse_if_wrong()
    facts = read_facts(first, HARVEST)
    counted = {fact.name: facts.pop(fact.name) for fact in HARVEST.written(making=False)}
    known = Harvest.objects.filter(client_key=key).first()
    if known is not None:
        refuse_withdrawn_row(known, "harvest", "key")
        _refuse_other_capsules(known, rows, capsules)
        return _counted_again(first, known, facts, counted, samples)
    try:
        harvest = log_harvest(
            cross=capsules[0][0].cross,
            by=importing.by,
            at=importing.at,
            capsules=capsules,
            samples=samples,
            client_key=key,
            **facts,
            **counted,
        )
    except Refused as no:
        raise _at_its_row(no, rows, capsules) from no
    return made(harvest)


def _at_its_row(no: Refused, rows: Group, capsules: list[tuple[Pollination, int]]) -> Refused:
    """Put a refusal of one pollination's capsules at the row that names it."""
    for cells, (pollination, _number) in zip(rows[1:], capsules[1:], strict=True):
        if no.field == capsules_field(pollination):
            cells.wrong.append(Refused(no.code, no.message, field="capsules"))
            cells.refuse_if_wrong()
    is_first = no.field == capsules_field(capsules[0][0])
    return Refused(no.code, no.message, field="capsules" if is_first else no.field)


def _refuse_other_capsules(
    known: Harvest, rows: Group, capsules: list[tuple[Pollination, int]]
) -> None:
    there = dict(known.pollinations.values_list("pollination_id", "capsules"))
    for cells, (pollination, number) in zip(rows, capsules, strict=True):
        if there.get(pollination.pk) != number:
            words = "The capsules of a harvest are not changed: withdraw it and log it again."
            cells.wrong.append(BadInput(words, field="capsules"))
        cells.refuse_if_wrong()


def _counted_again(
    cells: Cells,
    known: Harvest,
    facts: dict[str, Any],
    counted: dict[str, Any],
    samples: list[tuple[int, Decimal]],
) -> Outcome:
    """Take a better count of the seed; the rest of a harvest stands as it was logged."""
    wrong = "A harvest is not changed by a table, only its seed: withdraw it and log it again."
    refuse_other_facts(known, said_facts(cells, HARVEST, facts), wrong)
    said = said_facts(cells, HARVEST, counted)
    if counted["seed_counting"] == Harvest.SeedCounting.SAMPLED:
        # Its number is reckoned from the samples, and is in no cell.
        said.pop("seeds", None)
    if samples:
        # What they are reckoned from is compared: the very samples that were weighed.
        there = list(known.samples.order_by("pk").values_list("seeds", "grams"))
        said["samples"] = sorted(samples)
        if sorted(there) == said["samples"]:
            del said["samples"]
    before = facts_before(known, {name: said[name] for name in said if name != "samples"})
    if not before and "samples" not in said:
        return NOTHING_NEW
    count_seeds(
        harvest=known, by=cells.importing.by, why="imported again", samples=samples, **counted
    )
    return changed(known, before)


HARVESTS = Kind(
    name="harvests",
    title="Harvests",
    columns=(
        Column(
            "key",
            required=True,
            help="Your name for the harvest. Rows with the same one are its pollinations.",
        ),
        Column("pollination", ("tag",), required=True, help="Key or number of a pollination."),
        Column(
            "capsules",
            required=True,
            help="Capsules taken of that pollination.",
            shape=Shape.WHOLE,
            minimum=1,
        ),
        *columns_of(HARVEST),
        _GROWER,
        Column(
            "samples",
            help="Counted and weighed samples: 1000 0.41; 1000 0.40.",
            shape=Shape.SEVERAL,
        ),
    ),
    act=_harvest,
    told_apart_by=("key", "grower"),
    brought_by=BroughtBy.MEMBER,
    grouped_by="key",
)
