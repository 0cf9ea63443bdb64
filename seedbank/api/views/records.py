"""Plants, crosses and seed lots, as the person who asks may see them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_view

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.models import Cross, Plant
from crosses.queries.crosses import CrossRow, cross_rows, with_figures
from crosses.queries.parentage import Parentage, parentage_of
from seedbank.api.filters import CrossFilters, LotFilters, PlantFilters
from seedbank.api.serializers.records import CrossSerializer, LotSerializer, PlantSerializer
from seedbank.api.views.rows import NUMBER, ReadRows, no_rows
from seedbank.bank.access import lots_visible_to
from seedbank.bank.models import Lot
from seedbank.sowings.queries import germination_of_lots


@extend_schema_view(
    list=extend_schema(summary="Plants"),
    retrieve=extend_schema(summary="One plant", parameters=[NUMBER]),
)
class PlantView(ReadRows):
    """Plants one may see; whose they are is not told."""

    queryset = no_rows(Plant)
    serializer_class = PlantSerializer
    filterset_class = PlantFilters
    number_kind = "plant"

    def get_queryset(self) -> QuerySet[Plant]:
        return plants_visible_to(self.reader).filter(withdrawn_at=None).select_related("taxon")

    def told_with(self, records: Sequence[Plant]) -> dict[str, Any]:
        """Tell where plants come from, by numbers that the reader may open."""
        crosses = crosses_visible_to(self.reader).filter(seedlings__in=records)
        parents = plants_visible_to(self.reader).filter(divisions__in=records)
        return {
            "cross_numbers": dict(crosses.values_list("pk", "number")),
            "plant_numbers": dict(parents.values_list("pk", "number")),
        }


@dataclass(frozen=True)
class CrossToTell:
    row: CrossRow
    parentage: Parentage


@extend_schema_view(
    list=extend_schema(summary="Crosses"),
    retrieve=extend_schema(summary="One cross", parameters=[NUMBER]),
)
class CrossView(ReadRows):
    """Crosses one may see, with how their flowers took."""

    queryset = no_rows(Cross)
    serializer_class = CrossSerializer
    filterset_class = CrossFilters
    number_kind = "cross"

    def get_queryset(self) -> QuerySet[Cross]:
        return with_figures(crosses_visible_to(self.reader).filter(withdrawn_at=None))

    def rows(self, records: Sequence[Cross]) -> list[CrossToTell]:
        parentages = parentage_of(self.reader, records)
        return [CrossToTell(row, parentages[row.cross.pk]) for row in cross_rows(records)]


@extend_schema_view(
    list=extend_schema(summary="Seed lots, each with its germination so far"),
    retrieve=extend_schema(summary="One seed lot", parameters=[NUMBER]),
)
class LotView(ReadRows):
    """Seed lots one may see, each with its germination so far."""

    queryset = no_rows(Lot)
    serializer_class = LotSerializer
    filterset_class = LotFilters
    number_kind = "lot"

    def get_queryset(self) -> QuerySet[Lot]:
        return (
            lots_visible_to(self.reader)
            .filter(withdrawn_at=None)
            .select_related(
                "taxon",
                "raised_by",
                "harvest__cross__seed_parent",
                "harvest__cross__pollen_parent",
            )
            .prefetch_related("harvest__cross__pollen_shares__plant")
        )

    def told_with(self, records: Sequence[Lot]) -> dict[str, Any]:
        return {
            "parentages": parentage_of(
                self.reader, [lot.harvest.cross for lot in records if lot.harvest]
            ),
            "shares": germination_of_lots([lot.pk for lot in records], self.reader),
        }
