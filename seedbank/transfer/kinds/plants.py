"""Plants."""

from collections.abc import Sequence
from typing import Any

from crosses.actions.plant import add_plant, add_plants, change_plant
from crosses.calc.errors import BadInput
from crosses.facts.plant import PLANT
from crosses.models import Plant
from seedbank.formats.tables import Column, Shape
from seedbank.members.models import Member
from seedbank.transfer.cells import Cells
from seedbank.transfer.facts import columns_of, read_facts, said_facts
from seedbank.transfer.finding import (
    changed_facts,
    cross_in,
    facts_before,
    member_in,
    members_in,
    plant_in,
    taxa_in,
    taxon_in,
)
from seedbank.transfer.kind import NOTHING_NEW, BroughtBy, Group, Kind, Outcome, changed, made

# By it a plant is found again.
_LABEL = ("own_label",)
_OF_DESCENT = ("raised_from", "propagated_from")


def _plain_facts(cells: Cells) -> dict[str, Any]:
    """Read what a row says of a plant by itself, without other records."""
    origin = cells.choice("origin", Plant.Origin.values, "")
    return read_facts(cells, PLANT, by_hand=_LABEL) | {"origin": origin}


def _plant(rows: Group) -> Outcome:
    cells = rows[0]
    keeper = member_in(cells, "keeper")
    facts = cells.attempt(_plain_facts, cells) or {}
    facts["taxon"] = cells.attempt(taxon_in, cells, "taxon")
    facts["raised_from"] = cells.attempt(_cross_of, cells, keeper)
    facts["propagated_from"] = cells.attempt(plant_in, cells, "propagated_from", keeper)
    cells.refuse_if_wrong()
    facts["origin"] = facts["origin"] or _origin_by_descent(facts)
    label = cells.needed("label")
    known = Plant.objects.filter(keeper=keeper, own_label=label, withdrawn_at=None).first()
    if known is None:
        plant = add_plant(
            keeper=keeper,
            by=cells.importing.by,
            at=cells.importing.at,
            own_label=label,
            **facts,
        )
        return made(plant)
    return _corrected(cells, known, facts)


def _corrected(cells: Cells, known: Plant, facts: dict[str, Any]) -> Outcome:
    said = _as_fields(cells, facts)
    before = facts_before(known, said)
    if not before:
        return NOTHING_NEW
    new = changed_facts(known, said)
    change_plant(plant=known, by=cells.importing.by, why="imported again", **new)
    return changed(known, before)


def _as_fields(cells: Cells, facts: dict[str, Any]) -> dict[str, Any]:
    """Keep what the file has a column for; where a plant comes from follows from its descent."""
    said = said_facts(cells, PLANT, facts)
    if any(cells.has(column) for column in _OF_DESCENT):
        said["origin"] = facts["origin"]
    return said


def _cross_of(cells: Cells, keeper: Member) -> Any:
    grower = _grower_of_cross(cells, keeper)
    return cross_in(cells, "raised_from", grower, cells.whole("raised_season"))


def _grower_of_cross(cells: Cells, keeper: Member) -> Member:
    if not cells.raw("raised_by"):
        return keeper
    found = Member.objects.filter(number=cells.text("raised_by")).first()
    if found is None:
        raise BadInput(f"There is no member {cells.text('raised_by')}.", field="raised_by")
    return found


def _origin_by_descent(facts: dict[str, Any]) -> str:
    if facts["raised_from"]:
        return Plant.Origin.CROSS
    return Plant.Origin.DIVISION if facts["propagated_from"] else Plant.Origin.UNKNOWN


def _plants(groups: Sequence[Group]) -> list[Outcome | None]:
    """Carry out the plants that come from no cross and no plant, in a few queries."""
    rows = [group[0] for group in groups]
    plain = [not any(cells.raw(column) for column in _OF_DESCENT) for cells in rows]
    keepers = members_in(rows, "keeper")
    taxa = taxa_in(rows, "taxon")
    labels = {cells.raw("label") for cells in rows}
    known = {
        (plant.keeper_id, plant.own_label): plant
        for plant in Plant.objects.filter(
            keeper__in=keepers.values(), own_label__in=labels, withdrawn_at=None
        ).select_related("taxon", "raised_from", "propagated_from")
    }
    importing = rows[0].importing
    outcomes: list[Outcome | None] = [None] * len(groups)
    fresh: dict[int, Plant] = {}
    for place, cells in enumerate(rows):
        keeper = keepers.get(cells.raw("keeper"))
        taxon = taxa.get(cells.raw("taxon"))
        if not plain[place] or keeper is None or (cells.raw("taxon") and taxon is None):
            continue
        facts = {**_plain_facts(cells), "taxon": taxon, "raised_from": None}
        facts["propagated_from"] = None
        facts["origin"] = facts["origin"] or Plant.Origin.UNKNOWN
        label = cells.needed("label")
        there = known.get((keeper.pk, label))
        if there is not None:
            is_same = not changed_facts(there, _as_fields(cells, facts))
            outcomes[place] = NOTHING_NEW if is_same else None
            continue
        fresh[place] = Plant(keeper=keeper, own_label=label, **facts)
    if fresh:
        add_plants(plants=list(fresh.values()), by=importing.by, at=importing.at)
    return [
        made(fresh[place]) if place in fresh else outcome for place, outcome in enumerate(outcomes)
    ]


PLANTS = Kind(
    name="plants",
    title="Plants",
    columns=(
        Column(
            "label",
            ("own label", "number"),
            required=True,
            help="The keeper's own label. A plant of the same label is corrected, not added.",
        ),
        *columns_of(PLANT, by_hand=_LABEL),
        Column("keeper", help="Member number of who has it; empty: you."),
        Column("taxon", help="Its species, as in the society's list of taxa."),
        Column("raised_from", ("cross",), help="The cross it was raised from, by number."),
        Column("raised_by", help="Member number of who made that cross; empty: its keeper."),
        Column(
            "raised_season",
            help="Year of that cross, where its own number was used in several.",
            shape=Shape.WHOLE,
            minimum=1800,
        ),
        Column("propagated_from", help="The plant it was divided or cut from."),
    ),
    act=_plant,
    many=_plants,
    told_apart_by=("label", "keeper"),
    brought_by=BroughtBy.MEMBER,
)
