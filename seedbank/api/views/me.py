from typing import cast

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from seedbank.api.conditional import Conditional
from seedbank.api.serializers.records import MeSerializer
from seedbank.members.models import Member


class MeView(Conditional):
    @extend_schema(summary="Who you are, and what your key may do", responses=MeSerializer)
    def get(self, request: Request) -> Response:
        member = cast("Member", request.user)
        return Response(MeSerializer(member, context={"request": request}).data)
