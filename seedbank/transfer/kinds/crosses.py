"""Crosses."""

from typing import Any

from crosses.actions.cross import change_cross, plan_cross
from crosses.base.visibility import Visibility
from crosses.calc.errors import BadInput
from crosses.facts.cross import CROSS
from crosses.models import Cross, Plant
from seedbank.formats.tables import Column, Shape
from seedbank.members.models import Member
from seedbank.transfer.cells import Cells
from seedbank.transfer.facts import columns_of, read_facts, said_facts
from seedbank.transfer.finding import (
    changed_facts,
    cross_in,
    facts_before,
    member_in,
    plant_called,
    plant_in,
    refuse_other_facts,
    refuse_withdrawn_row,
)
from seedbank.transfer.kind import NOTHING_NEW, BroughtBy, Group, Kind, Outcome, changed, made


def _mixture(cells: Cells, grower: Member) -> list[tuple[Plant, int]]:
    mixture = []
    for part in cells.listed("mixture"):
        label, _, parts = part.partition(" x")
        if parts.strip() and not (parts.strip().isascii() and parts.strip().isdigit()):
            raise BadInput(f"'{part}': write the parts as a number, QS x2.", field="mixture")
        mixture.append((plant_called(label.strip(), "mixture", grower), int(parts or 1)))
    return mixture


def _cross(rows: Group) -> Outcome:
    cells = rows[0]
    grower = member_in(cells, "grower")
    facts = read_facts(cells, CROSS)
    own_number, season = facts["own_number"], facts["season"]
    pair: dict[str, Any] = {
        "seed_parent": cells.attempt(plant_in, cells, "seed_parent", grower),
        "pollen": facts.pop("pollen"),
        "pollen_parent": cells.attempt(plant_in, cells, "pollen_parent", grower),
    }
    mixture = cells.attempt(_mixture, cells, grower)
    reciprocal_of = cells.attempt(cross_in, cells, "reciprocal_of", grower, season)
    cells.refuse_if_wrong()
    known = Cross.objects.filter(grower=grower, season=season, own_number=own_number).first()
    if known is not None:
        refuse_withdrawn_row(known, "cross", "own_number")
        wrong = "The parents of a cross are not changed: withdraw it and plan it again."
        refuse_other_facts(known, cells.said(pair), wrong)
        if cells.has("mixture") and _parts_of(known) != {(each.pk, n) for each, n in mixture}:
            raise BadInput(wrong, field="mixture")
        return _corrected(cells, known, said_facts(cells, CROSS, facts))
    cross = plan_cross(
        grower=grower,
        by=cells.importing.by,
        at=cells.importing.at,
        mixture=mixture,
        reciprocal_of=reciprocal_of,
        **pair,
        **facts,
    )
    return made(cross)


def _corrected(cells: Cells, known: Cross, said: dict[str, Any]) -> Outcome:
    if said.get("visibility") == Visibility.SOCIETY and _has_hidden_parent(known):
        # It was planned as visible as its parents are, whatever the file says.
        del said["visibility"]
    before = facts_before(known, said)
    if not before:
        return NOTHING_NEW
    new = changed_facts(known, said)
    change_cross(cross=known, by=cells.importing.by, why="imported again", **new)
    return changed(known, before)


def _parts_of(cross: Cross) -> set[tuple[int, int]]:
    return set(cross.pollen_shares.values_list("plant_id", "parts"))


def _has_hidden_parent(cross: Cross) -> bool:
    parents = [cross.seed_parent, cross.pollen_parent]
    parents += [share.plant for share in cross.pollen_shares.select_related("plant")]
    return any(plant is not None and plant.visibility == Visibility.ME for plant in parents)


CROSSES = Kind(
    name="crosses",
    title="Crosses",
    columns=(
        *columns_of(CROSS),
        Column(
            "seed_parent",
            ("seed parent", "mother"),
            required=True,
            help="Who bears the seed: label, number or name of the plant.",
        ),
        Column(
            "pollen_parent",
            ("pollen parent", "father"),
            help="Who gave the pollen, where it was one plant.",
        ),
        Column(
            "mixture",
            help="The plants of mixed pollen, with their parts: QS x2; OL.",
            shape=Shape.SEVERAL,
        ),
        Column("grower", help="Member number of who made it; empty: you."),
        Column("reciprocal_of", help="Your number of the same cross the other way round."),
    ),
    act=_cross,
    told_apart_by=("own_number", "season", "grower"),
    brought_by=BroughtBy.MEMBER,
)
