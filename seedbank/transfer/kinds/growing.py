"""The grower's side: plants, crosses, pollinations, looks and harvests."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from crosses.actions.capsule import record_check
from crosses.actions.cross import plan_cross
from crosses.actions.harvest import log_harvest
from crosses.actions.plant import add_plant, change_plant
from crosses.actions.pollination import Pair, add_touch_up, log_pollination
from crosses.base.visibility import Visibility
from crosses.calc.errors import BadInput
from crosses.models import Check, Cross, Harvest, Plant, Pollination
from crosses.models.pollination import PollenState
from seedbank.formats.tables import Column
from seedbank.members.models import Member
from seedbank.transfer.cells import Cells, key_of
from seedbank.transfer.finding import (
    changed_facts,
    cross_in,
    member_in,
    plant_called,
    plant_in,
    pollination_in,
    taxon_in,
)
from seedbank.transfer.importing import CHANGED, NEW, SAME, BroughtBy, Kind


def _plant(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    keeper = member_in(cells, "keeper")
    label = cells.needed("label")
    facts: dict[str, Any] = {
        "name_text": cells.needed("name"),
        "taxon": taxon_in(cells, "taxon"),
        "raised_from": cross_in(
            cells, "raised_from", _grower_of_cross(cells, keeper), cells.whole("raised_season")
        ),
        "propagated_from": plant_in(cells, "propagated_from", keeper),
        "style_form": cells.choice("style_form", Plant.StyleForm.values, ""),
        "ploidy": cells.whole("ploidy", minimum=1),
        "wild_where": cells.text("wild_where"),
        "wild_country": cells.text("wild_country"),
        "wild_on": cells.day("wild_on"),
        "wild_permit": cells.text("wild_permit"),
        "acquired_on": cells.day("acquired_on"),
        "died_on": cells.day("died_on"),
        "fertility_notes": cells.text("fertility_notes"),
        "visibility": cells.choice("visibility", Visibility.values, Visibility.SOCIETY),
    }
    facts["origin"] = cells.choice("origin", Plant.Origin.values, _origin_by_descent(facts))
    known = Plant.objects.filter(keeper=keeper, own_label=label, withdrawn_at=None).first()
    if known is None:
        name = str(facts.pop("name_text"))
        add_plant(
            keeper=keeper,
            by=cells.importing.by,
            at=cells.importing.at,
            name_text=name,
            own_label=label,
            **facts,
        )
        return NEW
    changed = changed_facts(known, facts)
    if not changed:
        return SAME
    change_plant(plant=known, by=cells.importing.by, why="imported again", **changed)
    return CHANGED


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


PLANTS = Kind(
    name="plants",
    title="Plants",
    columns=(
        Column("label", ("own label", "number"), required=True),
        Column("name", ("name as written",), required=True),
        Column("keeper"),
        Column("taxon"),
        Column("origin"),
        Column("raised_from", ("cross",)),
        Column("raised_by"),
        Column("raised_season"),
        Column("propagated_from"),
        Column("style_form", ("form",)),
        Column("ploidy"),
        Column("wild_where"),
        Column("wild_country"),
        Column("wild_on"),
        Column("wild_permit"),
        Column("acquired_on"),
        Column("died_on"),
        Column("fertility_notes"),
        Column("visibility"),
    ),
    act=_plant,
    told_apart_by=("label", "keeper"),
    brought_by=BroughtBy.MEMBER,
)


def _mixture(cells: Cells, grower: Member) -> list[tuple[Plant, int]]:
    mixture = []
    for part in cells.listed("mixture"):
        label, _, parts = part.partition(" x")
        if parts.strip() and not parts.strip().isdigit():
            raise BadInput(f"'{part}': write the parts as a number, QS x2.", field="mixture")
        mixture.append((plant_called(label.strip(), "mixture", grower), int(parts or 1)))
    return mixture


def _cross(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    grower = member_in(cells, "grower")
    own_number, season = cells.needed("own_number"), cells.needed_whole("season", minimum=1800)
    if Cross.objects.filter(grower=grower, season=season, own_number=own_number).exists():
        return SAME
    seed_parent = plant_in(cells, "seed_parent", grower)
    if seed_parent is None:
        raise BadInput("This cell is empty; which plant bore the seed?", field="seed_parent")
    plan_cross(
        grower=grower,
        by=cells.importing.by,
        at=cells.importing.at,
        own_number=own_number,
        season=season,
        seed_parent=seed_parent,
        pollen=cells.choice("pollen", Cross.Pollen.values, Cross.Pollen.PLANT),
        pollen_parent=plant_in(cells, "pollen_parent", grower),
        mixture=_mixture(cells, grower),
        aim=cells.text("aim"),
        visibility=cells.choice("visibility", Visibility.values, Visibility.SOCIETY),
        reciprocal_of=cross_in(cells, "reciprocal_of", grower, season),
    )
    return NEW


CROSSES = Kind(
    name="crosses",
    title="Crosses",
    columns=(
        Column("own_number", ("number",), required=True),
        Column("season", ("year",), required=True),
        Column("seed_parent", ("seed parent", "mother"), required=True),
        Column("pollen"),
        Column("pollen_parent", ("pollen parent", "father")),
        Column("mixture"),
        Column("grower"),
        Column("reciprocal_of"),
        Column("aim"),
        Column("visibility"),
    ),
    act=_cross,
    told_apart_by=("own_number", "season", "grower"),
    brought_by=BroughtBy.MEMBER,
)


def _pollination(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    grower = member_in(cells, "grower")
    key = key_of("pollination", grower.number, cells.needed("key"))
    if Pollination.objects.filter(client_key=key).exists():
        return SAME
    day = cells.needed_day("pollinated_on")
    season = cells.whole("season", default=day.year) or day.year
    known = Cross.objects.filter(
        grower=grower, own_number=cells.text("cross"), season=season, withdrawn_at=None
    ).first()
    touched_up_on = cells.day("touched_up_on")
    pollination = log_pollination(
        cross=known or _pair(cells, grower, season),
        by=grower,
        at=cells.importing.at,
        pollinated_on=day,
        flowers=cells.whole("flowers", minimum=1, default=1) or 1,
        client_key=key,
        tool=cells.choice("tool", Pollination.Tool.values, Pollination.Tool.PICK),
        pollen_state=cells.choice("pollen_state", PollenState.values, PollenState.FRESH),
        pollen_stored_how=cells.text("pollen_stored_how"),
        pollen_stored_days=cells.whole("pollen_stored_days"),
        pollen_seen=cells.yes_no("pollen_seen", default=True),
        is_bagged=cells.yes_no("is_bagged"),
        is_emasculated=cells.yes_no("is_emasculated"),
        air_temperature_celsius=cells.decimal("air_temperature_celsius"),
        note=cells.text("note"),
    )
    if touched_up_on is not None:
        add_touch_up(
            pollination=pollination, by=grower, at=cells.importing.at, done_on=touched_up_on
        )
    return NEW


def _pair(cells: Cells, grower: Member, season: int) -> Pair:
    seed_parent = plant_in(cells, "seed_parent", grower)
    if seed_parent is None:
        raise BadInput(
            "There is no such cross; name its seed parent and pollen to make it.", field="cross"
        )
    return Pair(
        seed_parent=seed_parent,
        pollen=cells.choice("pollen", Cross.Pollen.values, Cross.Pollen.PLANT),
        pollen_parent=plant_in(cells, "pollen_parent", grower),
        season=season,
        own_number=cells.text("cross"),
    )


POLLINATIONS = Kind(
    name="pollinations",
    title="Pollinations",
    columns=(
        Column("key", ("tag",), required=True),
        Column("cross", ("own_number",)),
        Column("season"),
        Column("pollinated_on", ("date",), required=True),
        Column("flowers"),
        Column("grower"),
        Column("seed_parent"),
        Column("pollen"),
        Column("pollen_parent"),
        Column("tool"),
        Column("pollen_state"),
        Column("pollen_stored_how"),
        Column("pollen_stored_days"),
        Column("pollen_seen"),
        Column("is_bagged", ("bagged",)),
        Column("is_emasculated", ("emasculated",)),
        Column("air_temperature_celsius"),
        Column("touched_up_on"),
        Column("note"),
    ),
    act=_pollination,
    told_apart_by=("key", "grower"),
    brought_by=BroughtBy.MEMBER,
)


def _check(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    grower = member_in(cells, "grower")
    pollination = pollination_in(cells, "pollination", grower)
    day = cells.needed_day("seen_on")
    if not cells.raw("kind"):
        raise BadInput("This cell is empty; what was seen?", field="kind")
    kind = cells.choice("kind", Check.Kind.values, "")
    flowers = cells.whole("flowers", minimum=1)
    key = key_of("check", pollination.pk, day, kind, flowers or "")
    if Check.objects.filter(client_key=key).exists():
        return SAME
    record_check(
        pollination=pollination,
        by=grower,
        at=cells.importing.at,
        seen_on=day,
        kind=kind,
        flowers=flowers,
        note=cells.text("note"),
        client_key=key,
    )
    return NEW


CHECKS = Kind(
    name="checks",
    title="Looks at capsules",
    columns=(
        Column("pollination", ("key", "tag"), required=True),
        Column("seen_on", ("date",), required=True),
        Column("kind", ("seen",), required=True),
        Column("flowers"),
        Column("grower"),
        Column("note"),
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


def _harvest(rows: Sequence[Cells]) -> str:
    """One harvest; several rows with its key are the capsules of several pollinations."""
    first = rows[0]
    grower = member_in(first, "grower")
    key = key_of("harvest", grower.number, first.needed("key"))
    if Harvest.objects.filter(client_key=key).exists():
        return SAME
    capsules = [
        (pollination_in(cells, "pollination", grower), cells.needed_whole("capsules", minimum=1))
        for cells in rows
    ]
    log_harvest(
        cross=capsules[0][0].cross,
        by=grower,
        at=first.importing.at,
        harvested_on=first.needed_day("harvested_on"),
        capsules=capsules,
        seed_counting=first.choice(
            "seed_counting", Harvest.SeedCounting.values, Harvest.SeedCounting.COUNTED
        ),
        seeds=first.whole("seeds"),
        samples=_samples(first),
        clean_grams=first.decimal("clean_grams"),
        client_key=key,
        identified_by=first.choice(
            "identified_by", Harvest.IdentifiedBy.values, Harvest.IdentifiedBy.TAG
        ),
        certainty_percent=first.whole("certainty_percent", default=100),
        was_forced=first.yes_no("was_forced"),
        note=first.text("note"),
    )
    return NEW


HARVESTS = Kind(
    name="harvests",
    title="Harvests",
    columns=(
        Column("key", required=True),
        Column("pollination", ("tag",), required=True),
        Column("capsules", required=True),
        Column("harvested_on", ("date",), required=True),
        Column("grower"),
        Column("seed_counting"),
        Column("seeds"),
        Column("samples"),
        Column("clean_grams"),
        Column("identified_by"),
        Column("certainty_percent"),
        Column("was_forced"),
        Column("note"),
    ),
    act=_harvest,
    told_apart_by=("key", "grower"),
    brought_by=BroughtBy.MEMBER,
    grouped_by="key",
)
