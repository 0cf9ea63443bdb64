"""Taxa, single counts, and one's own parcels."""

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.access import taxa_known
from crosses.models import Taxon
from seedbank.api.filters import CountFilters, ParcelFilters, TaxonFilters
from seedbank.api.serializers.society import CountRowSerializer, ParcelSerializer, TaxonSerializer
from seedbank.api.views.rows import NUMBER, ReadRows, no_rows
from seedbank.exchange.access import parcels_of
from seedbank.exchange.models import Parcel, ParcelItem
from seedbank.exchange.queries.packing import items_in_tray_order
from seedbank.sowings.models import Count
from seedbank.sowings.queries.counted import counts_in_history

ID = OpenApiParameter("id", OpenApiTypes.INT, OpenApiParameter.PATH, description="Its id.")


@extend_schema_view(list=extend_schema(summary="Taxa, the society's common list"))
class TaxonView(ReadRows):
    """What is known of a genus, species or lower taxon."""

    queryset = no_rows(Taxon)
    serializer_class = TaxonSerializer
    filterset_class = TaxonFilters
    lookup_field = "id"
    lookup_value_regex = r"\d{1,9}"

    def get_queryset(self) -> QuerySet[Taxon]:
        return taxa_known()

    @extend_schema(summary="One taxon", parameters=[ID])
    def retrieve(self, request: Request, id: str) -> Response:
        return Response(self.told_in_full(id))


@extend_schema_view(list=extend_schema(summary="Single counts, a row a look at a pot"))
class CountView(ReadRows):
    """Looks at the pots of all sowings in the germination history."""

    queryset = no_rows(Count)
    serializer_class = CountRowSerializer
    filterset_class = CountFilters

    def get_queryset(self) -> QuerySet[Count]:
        return counts_in_history(self.reader).select_related("replicate__sowing")


@extend_schema_view(
    list=extend_schema(summary="Your own parcels"),
    retrieve=extend_schema(summary="One of your parcels", parameters=[NUMBER]),
)
class ParcelView(ReadRows):
    """One's own parcels of rounds whose result is announced; no address is told."""

    queryset = no_rows(Parcel)
    serializer_class = ParcelSerializer
    filterset_class = ParcelFilters
    number_kind = "parcel"

    def get_queryset(self) -> QuerySet[Parcel]:
        return parcels_of(self.reader)

    def told_with(self, records: Sequence[Parcel]) -> dict[str, Any]:
        items: defaultdict[int, list[ParcelItem]] = defaultdict(list)
        for item in items_in_tray_order(records):
            items[item.parcel_id].append(item)
        return {"items": items}
