"""Crosses that were made, crosses that are planned, and the seasons they belong to."""

import datetime
from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, QuerySet
from django.http import Http404
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.access import crosses_visible_to, plants_visible_to, pollinations_visible_to
from crosses.base.clock import today
from crosses.models import Cross, Pollination
from crosses.queries.parentage import NamedPlant, Parentage, parentage_of
from seedbank.api.brapi.envelope import (
    NOT_KEPT,
    PAGING,
    BrapiView,
    Narrow,
    single,
    without_unknown,
)
from seedbank.members.models import Member
from seedbank.transfer.descent import ONE_OF_A_MIXTURE, OWN_POLLEN, POLLEN_PARENT, SEED_PARENT

CROSS_TYPES = {
    Cross.Pollen.PLANT: "BIPARENTAL",
    Cross.Pollen.MIXED: "BULK",
    Cross.Pollen.SELF: "SELF",
    Cross.Pollen.OPEN: "OPEN_POLLINATED",
}
_TOOK = {Pollination.State.TAKEN, Pollination.State.RIPE, Pollination.State.HARVESTED}
_FILTERS: Mapping[str, Narrow] = {
    "commonCropName": lambda crosses, value: crosses.filter(seed_parent__taxon__genus=value),
    "crossingProjectDbId": lambda crosses, value: _of_season(crosses, value),
    "crossingProjectName": lambda crosses, value: _of_season(
        crosses, value.removeprefix("Season ")
    ),
}
_PARAMETERS = NOT_KEPT | PAGING | _FILTERS.keys()


def _of_season(crosses: QuerySet[Cross], season: str) -> QuerySet[Cross]:
    return crosses.filter(season=int(season)) if _is_year(season) else crosses.none()


def _is_year(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) == 4


def _crosses(reader: Member) -> QuerySet[Cross]:
    flowers = _flowers(reader).order_by("pollinated_on", "pk")
    return (
        crosses_visible_to(reader)
        .filter(withdrawn_at=None)
        .select_related("seed_parent", "pollen_parent")
        .prefetch_related("pollen_shares__plant", Prefetch("pollinations", queryset=flowers))
        .order_by("number")
    )


def _flowers(reader: Member) -> QuerySet[Pollination]:
    return pollinations_visible_to(reader).filter(withdrawn_at=None)


def _made(reader: Member) -> Exists:
    return Exists(_flowers(reader).filter(cross=OuterRef("pk")))


def _named(name: str) -> dict[str, Narrow]:
    """Return the two filters by which a cross is asked for: its number and the grower's own."""
    return {
        f"{name}DbId": lambda crosses, value: crosses.filter(number=value),
        f"{name}Name": lambda crosses, value: crosses.filter(own_number=value),
    }


class CrossList(BrapiView):
    """Crosses of which a flower was pollinated; the others are planned."""

    parameters = _PARAMETERS | {"crossDbId", "crossName"}

    def get(self, request: Request) -> Response:
        made = _crosses(self.reader).filter(_made(self.reader))
        crosses = self.narrowed(made, {**_FILTERS, **_named("cross")})
        return self.listed(crosses, self._told)

    def _told(self, crosses: Sequence[Cross]) -> list[dict[str, Any]]:
        parentages = parentage_of(self.reader, crosses)
        return [
            _common(cross, parentages[cross.pk])
            | {
                "crossDbId": cross.number,
                "crossName": cross.own_number,
                "crossAttributes": _attributes(cross),
                "plannedCrossDbId": cross.number,
                "plannedCrossName": cross.own_number,
                "pollinationEvents": [_event(flower) for flower in cross.pollinations.all()],
            }
            for cross in crosses
        ]


class PlannedCrossList(BrapiView):
    """Every cross, as it was planned."""

    parameters = _PARAMETERS | {"plannedCrossDbId", "plannedCrossName", "status"}

    def get(self, request: Request) -> Response:
        filters = {**_FILTERS, **_named("plannedCross"), "status": self._of_status}
        return self.listed(self.narrowed(_crosses(self.reader), filters), self._told)

    def _told(self, crosses: Sequence[Cross]) -> list[dict[str, Any]]:
        parentages = parentage_of(self.reader, crosses)
        return [
            _common(cross, parentages[cross.pk])
            | {
                "plannedCrossDbId": cross.number,
                "plannedCrossName": cross.own_number,
                "status": _status(cross),
            }
            for cross in crosses
        ]

    def _of_status(self, crosses: QuerySet[Cross], status: str) -> QuerySet[Cross]:
        year, made = today().year, _made(self.reader)
        known = {
            "DONE": crosses.filter(made),
            "SKIPPED": crosses.filter(~made, season__lt=year),
            "TODO": crosses.filter(~made, season__gte=year),
        }
        return known.get(status, crosses.none())


def _status(cross: Cross) -> str:
    """Say whether a cross was made; what no flower was given to in its season was let be."""
    if cross.pollinations.all():
        return "DONE"
    return "SKIPPED" if cross.season < today().year else "TODO"


class CrossingProjectList(BrapiView):
    """A society's crossing project is its season."""

    parameters = (
        NOT_KEPT
        | PAGING
        | {
            "commonCropName",
            "crossingProjectDbId",
            "crossingProjectName",
            "includePotentialParents",
        }
    )

    def get(self, request: Request) -> Response:
        with_parents = self.yes_no("includePotentialParents", default=False)
        crosses = self.narrowed(_seasons(self.reader), _FILTERS)
        seasons = crosses.values_list("season", flat=True).distinct().order_by("season")
        return self.listed(
            seasons, lambda page: _projects(self.reader, page, with_parents=with_parents)
        )


class CrossingProjectDetail(BrapiView):
    def get(self, request: Request, crossingProjectDbId: str) -> Response:  # noqa: N803
        if not _of_season(_seasons(self.reader), crossingProjectDbId).exists():
            raise Http404
        (project,) = _projects(self.reader, [int(crossingProjectDbId)], with_parents=True)
        return single(project)


def _seasons(reader: Member) -> QuerySet[Cross]:
    return crosses_visible_to(reader).filter(withdrawn_at=None)


def _projects(
    reader: Member, seasons: Sequence[int], *, with_parents: bool
) -> list[dict[str, Any]]:
    parents: dict[int, list[dict[str, str]]] = {season: [] for season in seasons}
    if with_parents:
        for season, parent in _potential_parents(reader, seasons):
            parents[season].append(parent)
    return [
        without_unknown(
            {
                "crossingProjectDbId": str(season),
                "crossingProjectName": f"Season {season}",
                "crossingProjectDescription": f"Crosses of the flowering season of {season}.",
                "potentialParents": parents[season],
            }
        )
        for season in seasons
    ]


def _potential_parents(reader: Member, seasons: Sequence[int]) -> list[tuple[int, dict[str, str]]]:
    """Return each plant the reader may see that was a parent in a season, once a role."""
    found: set[tuple[int, str, str, str]] = set()
    for path, parent_type in (
        ("crosses_as_seed_parent", SEED_PARENT),
        ("crosses_as_pollen_parent", POLLEN_PARENT),
        ("pollen_shares__cross", POLLEN_PARENT),
    ):
        plants = plants_visible_to(reader).filter(
            **{
                "withdrawn_at": None,
                f"{path}__in": _seasons(reader).filter(season__in=seasons),
            }
        )
        rows = plants.values_list(f"{path}__season", "number", "name_text")
        found |= {(season, number, name, parent_type) for season, number, name in rows}
    return [
        (season, {"germplasmDbId": number, "germplasmName": name, "parentType": parent_type})
        for season, number, name, parent_type in sorted(found)
        if season in seasons
    ]


def _common(cross: Cross, parentage: Parentage) -> dict[str, Any]:
    """Tell what a planned cross and a made one have in common; `parent1` bears the seed."""
    is_self = cross.pollen == Cross.Pollen.SELF
    return without_unknown(
        {
            "additionalInfo": {
                "formula": parentage.formula,
                "pollen": cross.get_pollen_display(),
                "season": str(cross.season),
            },
            "crossingProjectDbId": str(cross.season),
            "crossingProjectName": f"Season {cross.season}",
            "crossType": CROSS_TYPES.get(Cross.Pollen(cross.pollen)),
            "parent1": _parent([parentage.seed_parent], OWN_POLLEN if is_self else SEED_PARENT),
            "parent2": None if is_self else _pollen_parent(parentage.pollen_parents),
        }
    )


def _pollen_parent(plants: Sequence[NamedPlant]) -> dict[str, str] | None:
    if not plants:
        return None
    return _parent(plants, POLLEN_PARENT if len(plants) == 1 else ONE_OF_A_MIXTURE)


def _parent(plants: Sequence[NamedPlant], parent_type: str) -> dict[str, str]:
    """Tell a parent; several are a mixture, which is not one plant and so has no DbId."""
    told = {"germplasmName": " + ".join(plant.name_text for plant in plants)}
    if len(plants) == 1 and plants[0].number is not None:
        told["germplasmDbId"] = plants[0].number
    return told | {"parentType": parent_type}


def _attributes(cross: Cross) -> list[dict[str, str]]:
    flowers = list(cross.pollinations.all())
    figures = {
        "flowers pollinated": sum(flower.flowers for flower in flowers if flower.pollen_seen),
        "capsules set": sum(flower.capsules_set for flower in flowers),
        "capsules harvested": sum(flower.capsules_harvested for flower in flowers),
    }
    return [
        {"crossAttributeName": name, "crossAttributeValue": str(value)}
        for name, value in figures.items()
    ]


def _event(flower: Pollination) -> dict[str, Any]:
    """Tell a pollination; where the hour is not known it is given as noon."""
    time = flower.pollinated_time or datetime.time(12)
    moment = timezone.make_aware(datetime.datetime.combine(flower.pollinated_on, time))
    told: dict[str, Any] = {
        "pollinationNumber": flower.number,
        "pollinationTimeStamp": moment.isoformat(),
    }
    if flower.capsules_set or flower.state in _TOOK:
        told["pollinationSuccessful"] = True
    elif flower.state == Pollination.State.FAILED and flower.pollen_seen:
        told["pollinationSuccessful"] = False
    return told
