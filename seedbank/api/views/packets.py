"""Packets, and the chain of one."""

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework.request import Request
from rest_framework.response import Response

from seedbank.api.filters import PacketFilters
from seedbank.api.serializers.packets import ChainSerializer, PacketSerializer
from seedbank.api.views.rows import NUMBER, ReadRows, no_rows, number_asked
from seedbank.bank.access import packets_visible_to
from seedbank.bank.models import Packet
from seedbank.chain import chain_of


@extend_schema_view(list=extend_schema(summary="Packets"))
class PacketView(ReadRows):
    """Packets of the lots one may see; who has them is not told."""

    queryset = no_rows(Packet)
    serializer_class = PacketSerializer
    filterset_class = PacketFilters

    def get_queryset(self) -> QuerySet[Packet]:
        return packets_visible_to(self.reader).select_related("lot", "split_from")

    @extend_schema(
        summary="One packet with its whole chain",
        description="Back to the flower, forward to the last count, as far as you may see.",
        parameters=[NUMBER],
        responses=ChainSerializer,
    )
    def retrieve(self, request: Request, number: str) -> Response:
        packet = get_object_or_404(self.get_queryset(), number=number_asked(number, kind="packet"))
        chain = chain_of(packet, self.reader)
        return Response(ChainSerializer(chain, context=self.get_serializer_context()).data)
