"""Plants, crosses and seed lots, as the person who asks may see them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.access import (
    cross_for_writing,
    crosses_visible_to,
    plant_for_writing,
    plants_visible_to,
)
from crosses.actions.cross import change_cross, plan_cross
from crosses.actions.plant import add_plant, change_plant
from crosses.base.clock import now, today
from crosses.models import Cross, Plant
from crosses.queries.crosses import CrossRow, cross_rows, with_figures
from crosses.queries.fertility import chance_of_cross, figures_of_plant, pair_model, seeds_of_cross
from crosses.queries.flowers import flower_rows_of_cross
from crosses.queries.lineage import made_of, relation_of_parents, relation_of_plants
from crosses.queries.parentage import Parentage, parentage_of
from crosses.queries.partners import MOST_PARTNERS, partners_of
from seedbank.api.filters import CrossFilters, LotFilters, PlantFilters
from seedbank.api.once import written_once
from seedbank.api.permissions import KeeperWithKey
from seedbank.api.serializers.comparing import LotsComparedSerializer
from seedbank.api.serializers.details import (
    CrossDetailSerializer,
    LotDetailSerializer,
    PlantDetailSerializer,
)
from seedbank.api.serializers.fertility import PartnersAsked, PartnerSerializer
from seedbank.api.serializers.growing import (
    ChangedCrossSerializer,
    ChangedPlantSerializer,
    NewCrossSerializer,
    NewPlantSerializer,
)
from seedbank.api.serializers.keeping import (
    ChangedLotSerializer,
    NewLotSerializer,
    NewPacketsSerializer,
)
from seedbank.api.serializers.packets import PacketSerializer
from seedbank.api.serializers.pedigree import RelationSerializer
from seedbank.api.serializers.records import CrossSerializer, LotSerializer, PlantSerializer
from seedbank.api.views.finding import (
    cross_named,
    harvest_named,
    place_named,
    plant_named,
    taxon_named,
)
from seedbank.api.views.rows import NUMBER, ReadRows, no_rows, number_asked, read_sent
from seedbank.bank.access import lot_for_writing, lots_visible_to
from seedbank.bank.actions.lot import add_lot, change_lot, make_lot_from_harvest
from seedbank.bank.actions.packet import make_packets
from seedbank.bank.kinds import cautions_of_lots
from seedbank.bank.models import Lot
from seedbank.bank.queries import packet_suggestion
from seedbank.sowings.queries import germination_of_lots, lot_germination, storage_outlook
from seedbank.sowings.queries.comparing import lots_compared


@extend_schema_view(
    list=extend_schema(summary="Plants"),
    retrieve=extend_schema(summary="One plant", parameters=[NUMBER]),
)
class PlantView(ReadRows):
    """Plants one may see; whose they are is not told."""

    queryset = no_rows(Plant)
    serializer_class = PlantSerializer
    detail_serializer_class = PlantDetailSerializer
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

    def told_of(self, record: Plant) -> dict[str, Any]:
        return {
            "made_of": made_of(self.reader, record),
            "figures": figures_of_plant(self.reader, record),
        }

    @extend_schema(
        summary="Write a plant down",
        request=NewPlantSerializer,
        responses={201: PlantDetailSerializer},
    )
    @written_once
    def create(self, request: Request) -> Response:
        sent = read_sent(NewPlantSerializer(data=request.data))
        links = {
            "taxon": taxon_named(sent),
            "propagated_from": plant_named(self.reader, sent, "propagated_from"),
            "raised_from": cross_named(self.reader, sent, "raised_from"),
        }
        made = add_plant(keeper=self.reader, by=self.reader, at=now(), **{**sent, **links})
        return Response(self.told_in_full(made.number), status=201)

    @extend_schema(
        summary="Correct a plant",
        parameters=[NUMBER],
        request=ChangedPlantSerializer,
        responses=PlantDetailSerializer,
    )
    @written_once
    def partial_update(self, request: Request, number: str) -> Response:
        wanted = number_asked(number, kind=self.number_kind)
        sent = read_sent(ChangedPlantSerializer(data=request.data))
        plant = self.held(lambda: plant_for_writing(self.reader, wanted))
        change_plant(plant=plant, by=self.reader, **sent)
        return Response(self.told_in_full(wanted))

    @extend_schema(
        summary="How close two plants are",
        parameters=[
            NUMBER,
            OpenApiParameter("other", str, required=True, description="The other plant's number."),
        ],
        responses=RelationSerializer,
        filters=False,
    )
    @action(detail=True, pagination_class=None)
    def kinship(self, request: Request, number: str) -> Response:
        plant = self._plant(number)
        other = self._plant(request.query_params.get("other", ""), field="other")
        return Response(RelationSerializer(relation_of_plants(plant, other)).data)

    @extend_schema(
        summary="Partners for a plant, best first",
        description=(
            f"At most {MOST_PARTNERS} living plants. First the pairs tried in this direction;"
            " within both kinds those with nothing to warn of, then by the lower end of the 80 %"
            " interval of the chance that a flower takes, times the share of the seedlings'"
            " genes that are not copies of one ancestor's."
        ),
        parameters=[
            NUMBER,
            OpenApiParameter(
                "gives_pollen",
                bool,
                description="Whether the plant asked for gives pollen; else it bears the seed.",
            ),
            OpenApiParameter("own_only", bool, description="Only plants of one's own."),
        ],
        responses=PartnerSerializer(many=True),
        filters=False,
    )
    @action(detail=True, pagination_class=None)
    def partners(self, request: Request, number: str) -> Response:
        asked = PartnersAsked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        found: Any = partners_of(
            self.reader,
            self._plant(number),
            as_seed_parent=not asked.validated_data["gives_pollen"],
            own_only=asked.validated_data["own_only"],
        )
        return Response(PartnerSerializer(found, many=True).data)

    def _plant(self, number: str, field: str = "number") -> Plant:
        wanted = number_asked(number, kind="plant", field=field)
        return get_object_or_404(self.get_queryset(), number=wanted)


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
    detail_serializer_class = CrossDetailSerializer
    filterset_class = CrossFilters
    number_kind = "cross"

    def get_queryset(self) -> QuerySet[Cross]:
        return with_figures(crosses_visible_to(self.reader).filter(withdrawn_at=None))

    def rows(self, records: Sequence[Cross]) -> list[CrossToTell]:
        parentages = parentage_of(self.reader, records)
        return [CrossToTell(row, parentages[row.cross.pk]) for row in cross_rows(records)]

    def told_of(self, record: Cross) -> dict[str, Any]:
        return {
            "chance_of_pair": chance_of_cross(pair_model(self.reader), record),
            "relation_of_parents": relation_of_parents(record),
            "seeds_per_capsule": seeds_of_cross(self.reader, record),
            "pollinations": flower_rows_of_cross(self.reader, record, today()),
        }

    @extend_schema(
        summary="Plan a cross",
        request=NewCrossSerializer,
        responses={201: CrossDetailSerializer},
    )
    @written_once
    def create(self, request: Request) -> Response:
        sent = read_sent(NewCrossSerializer(data=request.data))
        mixture = [
            (plant_named(self.reader, each, "plant"), each["parts"])
            for each in sent.pop("mixture", ())
        ]
        links = {
            "seed_parent": plant_named(self.reader, sent, "seed_parent"),
            "pollen_parent": plant_named(self.reader, sent, "pollen_parent"),
            "mixture": mixture,
        }
        made = plan_cross(grower=self.reader, by=self.reader, at=now(), **{**sent, **links})
        return Response(self.told_in_full(made.number), status=201)

    @extend_schema(
        summary="Correct a cross",
        parameters=[NUMBER],
        request=ChangedCrossSerializer,
        responses=CrossDetailSerializer,
    )
    @written_once
    def partial_update(self, request: Request, number: str) -> Response:
        wanted = number_asked(number, kind=self.number_kind)
        sent = read_sent(ChangedCrossSerializer(data=request.data))
        cross = self.held(lambda: cross_for_writing(self.reader, wanted))
        change_cross(cross=cross, by=self.reader, **sent)
        return Response(self.told_in_full(wanted))


@extend_schema_view(
    list=extend_schema(summary="Seed lots, each with its germination so far"),
    retrieve=extend_schema(summary="One seed lot", parameters=[NUMBER]),
)
class LotView(ReadRows):
    """Seed lots one may see, each with its germination so far."""

    queryset = no_rows(Lot)
    serializer_class = LotSerializer
    detail_serializer_class = LotDetailSerializer
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
            "cautions": cautions_of_lots(records),
        }

    def told_of(self, record: Lot) -> dict[str, Any]:
        return {
            "packet_plan": packet_suggestion(record),
            "over_sowings": lot_germination(record, self.reader),
            "storage_outlook": storage_outlook(record, self.reader, today()),
        }

    @extend_schema(
        summary="Make a seed lot, of a harvest or of seed from elsewhere",
        request=NewLotSerializer,
        responses={201: LotDetailSerializer},
    )
    @written_once
    def create(self, request: Request) -> Response:
        sent = read_sent(NewLotSerializer(data=request.data))
        if "taxon" in sent:
            sent["taxon"] = taxon_named(sent)
        if "harvest" in sent:
            harvest = harvest_named(self.reader, sent.pop("harvest"))
            made = make_lot_from_harvest(harvest=harvest, by=self.reader, at=now(), **sent)
        else:
            me = self.reader
            made = add_lot(raised_by=me, owner=me, by=me, at=now(), **sent)
        return Response(self.told_in_full(made.number), status=201)

    @extend_schema(
        summary="Correct a seed lot",
        parameters=[NUMBER],
        request=ChangedLotSerializer,
        responses=LotDetailSerializer,
    )
    @written_once
    def partial_update(self, request: Request, number: str) -> Response:
        wanted = number_asked(number, kind=self.number_kind)
        sent = read_sent(ChangedLotSerializer(data=request.data))
        lot = self.held(lambda: self._for_writing(wanted))
        change_lot(lot=lot, by=self.reader, at=now(), **sent)
        return Response(self.told_in_full(wanted))

    @extend_schema(
        summary="Make numbered packets of a seed lot",
        parameters=[NUMBER],
        request=NewPacketsSerializer,
        responses={201: PacketSerializer(many=True)},
        filters=False,
    )
    @action(detail=True, methods=["post"], pagination_class=None)
    @written_once
    def packets(self, request: Request, number: str) -> Response:
        lot = self._for_writing(number_asked(number, kind=self.number_kind))
        sent = read_sent(NewPacketsSerializer(data=request.data))
        place = place_named(self.reader, sent)
        made = make_packets(lot=lot, by=self.reader, at=now(), **{**sent, "place": place})
        context = self.get_serializer_context()
        return Response(PacketSerializer(made, many=True, context=context).data, status=201)

    @extend_schema(
        summary="Compare two seed lots",
        description=(
            "What came of each over its sowings, allowing for the scatter between them, with what"
            " may be claimed from so many sowings."
        ),
        parameters=[
            NUMBER,
            OpenApiParameter("other", str, required=True, description="The other lot's number."),
        ],
        responses=LotsComparedSerializer,
        filters=False,
    )
    @action(detail=True, pagination_class=None)
    def comparison(self, request: Request, number: str) -> Response:
        first = self._lot(number)
        second = self._lot(request.query_params.get("other", ""), field="other")
        return Response(LotsComparedSerializer(lots_compared(first, second, self.reader)).data)

    def _lot(self, number: str, field: str = "number") -> Lot:
        wanted = number_asked(number, kind="lot", field=field)
        return get_object_or_404(self.get_queryset(), number=wanted)

    def _for_writing(self, number: str) -> Lot:
        """The bank's own lots are a keeper's, with a key made for what a keeper does."""
        lot = lot_for_writing(self.reader, number)
        if lot.owner_id is None and not KeeperWithKey().has_permission(self.request, self):
            raise PermissionDenied(KeeperWithKey.message)
        return lot
