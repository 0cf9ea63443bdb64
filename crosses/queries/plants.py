"""What the pages of plants show."""

import datetime
from dataclasses import dataclass
from typing import Any

from django.db.models import Case, IntegerField, Q, QuerySet, Value, When

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.models import Cross, Plant
from crosses.queries.crosses import with_parents
from crosses.queries.written import cross_formula

_TOLD_FIELDS = {
    "name_text": "name",
    "own_label": "own label",
    "taxon": "taxon",
    "raised_from": "cross it was raised from",
    "propagated_from": "plant it was propagated from",
    "origin": "origin",
    "wild_where": "where it was collected",
    "wild_country": "country",
    "wild_on": "when it was collected",
    "wild_permit": "permit",
    "visibility": "who may see it",
    "style_form": "style form",
    "ploidy": "chromosome sets",
    "stated_inbreeding": "stated inbreeding",
    "fertility_notes": "fertility notes",
    "acquired_on": "acquired on",
    "died_on": "died on",
}


@dataclass(frozen=True)
class ToldChange:
    """One field that was changed: what it said before and after."""

    field: str
    before: str
    after: str


@dataclass(frozen=True)
class ToldHistory:
    """One line of a record's history: who changed what, when and why."""

    at: datetime.datetime
    who: str
    why: str
    changes: tuple[ToldChange, ...]


def plants_list(
    viewer: Any, *, words: str = "", alive: str = "", own_only: bool = False
) -> QuerySet[Plant]:
    """Return standing plants, one's own first; `alive` is empty (living), "dead" or "all"."""
    plants = plants_visible_to(viewer).filter(withdrawn_at=None)
    if alive != "all":
        plants = plants.filter(died_on__isnull=alive != "dead")
    if own_only:
        plants = plants.filter(keeper=viewer)
    if words:
        plants = plants.filter(
            Q(number__icontains=words)
            | Q(name_text__icontains=words)
            | Q(own_label__icontains=words)
            | Q(taxon__genus__icontains=words)
            | Q(taxon__species__icontains=words)
            | Q(keeper__name__icontains=words)
        )
    is_own = Case(When(keeper=viewer, then=Value(1)), default=Value(0), output_field=IntegerField())
    return (
        plants.select_related("taxon", "keeper")
        .annotate(is_own=is_own)
        .order_by("-is_own", "name_text", "number")
    )


@dataclass(frozen=True)
class OriginCross:
    """The cross a plant was raised from, and its formula."""

    cross: Cross
    formula: str


def origin_cross(viewer: Any, plant: Plant) -> OriginCross | None:
    """Return the cross a plant was raised from, if the reader may see that."""
    cross = with_parents(crosses_visible_to(viewer)).filter(seedlings=plant).first()
    return OriginCross(cross, cross_formula(cross)) if cross else None


def propagated_from(viewer: Any, plant: Plant) -> Plant | None:
    """Return the plant it was taken from, if the reader may see that."""
    return plants_visible_to(viewer).filter(divisions=plant).first()


def divisions_of(viewer: Any, plant: Plant) -> QuerySet[Plant]:
    return plants_visible_to(viewer).filter(propagated_from=plant, withdrawn_at=None)


def seedlings_of_plant(viewer: Any, plant: Plant) -> QuerySet[Plant]:
    """Return the plants raised from any cross in which a plant bore seed or gave pollen."""
    crosses = crosses_visible_to(viewer).filter(
        Q(seed_parent=plant) | Q(pollen_parent=plant) | Q(pollen_shares__plant=plant)
    )
    return (
        plants_visible_to(viewer)
        .filter(raised_from__in=crosses.values("pk"), withdrawn_at=None)
        .select_related("raised_from")
    )


def history_of_plant(plant: Plant) -> list[ToldHistory]:
    """Return who changed what on a plant, latest first; a corrected name keeps the old one here."""
    versions = list(
        plant.history.select_related("history_user").order_by("history_date", "history_id")
    )
    lines = []
    for at, version in enumerate(versions):
        changes = _changes(versions[at - 1], version) if at else ()
        who = version.history_user.name if version.history_user else "the service"
        why = version.history_change_reason or ("" if at else "written down")
        lines.append(ToldHistory(version.history_date, who, why, changes))
    return lines[::-1]


def _changes(before: Any, after: Any) -> tuple[ToldChange, ...]:
    delta = after.diff_against(
        before, included_fields=list(_TOLD_FIELDS), foreign_keys_are_objs=True
    )
    return tuple(
        ToldChange(_TOLD_FIELDS[change.field], _told(change.old), _told(change.new))
        for change in delta.changes
    )


def _told(value: Any) -> str:
    return "nothing" if value in (None, "") else str(value)
