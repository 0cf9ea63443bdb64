"""Donations, offered by a donor and answered by the keeper; the keeper's lines of a list."""

from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.base.clock import now, today
from crosses.base.history import hold
from seedbank.api.conditional import Conditional, demand_version
from seedbank.api.filters import DonationFilters
from seedbank.api.once import written_once
from seedbank.api.permissions import KeeperWithKey
from seedbank.api.serializers.keeping import (
    AnswerSerializer,
    ChangedLineSerializer,
    NewDonationSerializer,
    NewLineSerializer,
)
from seedbank.api.serializers.records import KeepersLineSerializer
from seedbank.api.serializers.society import DonationSerializer
from seedbank.api.views.finding import named, place_named
from seedbank.api.views.rounds import SLUG
from seedbank.api.views.rows import NUMBER, ReadRows, no_rows, number_asked, read_sent
from seedbank.bank.access import donation_for_receiving, donations_visible_to, lot_for_reading
from seedbank.bank.actions.donation import answer_line, offer
from seedbank.bank.models import Donation
from seedbank.exchange.access import line_for_writing, lines_visible_to, round_for_writing
from seedbank.exchange.actions.listing import add_line, change_line, withdraw_line
from seedbank.exchange.models import Round
from seedbank.exchange.queries.listing import lines_with_kinds, listed_lines
from seedbank.members.models import Member

LOT = OpenApiParameter(
    "lot", OpenApiTypes.STR, OpenApiParameter.PATH, description="The number of the line's lot."
)
LINE = OpenApiParameter(
    "line_number", OpenApiTypes.INT, OpenApiParameter.PATH, description="The line's number."
)
NO_LOT = "You can see no lot of this number."


@extend_schema_view(
    list=extend_schema(summary="Your donations; with a keeper's key, everybody's"),
    retrieve=extend_schema(summary="One donation", parameters=[NUMBER]),
)
class DonationView(ReadRows):
    """Seed given to the bank, and what became of the offers."""

    queryset = no_rows(Donation)
    serializer_class = DonationSerializer
    filterset_class = DonationFilters
    number_kind = "donation"

    def get_queryset(self) -> QuerySet[Donation]:
        donations = donations_visible_to(self.reader).filter(withdrawn_at=None)
        if not KeeperWithKey().has_permission(self.request, self):
            donations = donations.filter(donor=self.reader)
        return donations.select_related("donor").prefetch_related("lines__lot")

    @extend_schema(
        summary="Offer packets of your lots to the bank",
        request=NewDonationSerializer,
        responses={201: DonationSerializer},
    )
    @written_once
    def create(self, request: Request) -> Response:
        sent = read_sent(NewDonationSerializer(data=request.data))
        lines = [(self._lot(each["lot"]), each["packets"]) for each in sent.pop("lines")]
        made = offer(donor=self.reader, by=self.reader, at=now(), lines=lines, **sent)
        return Response(self.told_in_full(made.number), status=201)

    @extend_schema(
        summary="Answer a line of a donation, as keeper",
        parameters=[NUMBER, LOT],
        request=AnswerSerializer,
        responses=DonationSerializer,
        filters=False,
    )
    @action(
        detail=True,
        methods=["post"],
        url_path=r"lines/(?P<lot>[^/.]+)/answer",
        url_name="answer",
        permission_classes=[*ReadRows.permission_classes, KeeperWithKey],
    )
    @written_once
    def answer(self, request: Request, number: str, lot: str) -> Response:
        donation = donation_for_receiving(self.reader, number_asked(number, kind=self.number_kind))
        wanted = number_asked(lot, kind="lot", field="lot")
        line = get_object_or_404(donation.lines.select_related("lot"), lot__number=wanted)
        sent = read_sent(AnswerSerializer(data=request.data))
        place = place_named(self.reader, sent)
        answer_line(line=line, by=self.reader, at=now(), **{**sent, "place": place})
        return Response(self.told_in_full(donation.number))

    def _lot(self, number: str) -> Any:
        return named("lines", lambda: lot_for_reading(self.reader, number), NO_LOT)


class LineView(Conditional):
    """What a keeper does with the lines of a round's list."""

    permission_classes = [*Conditional.permission_classes, KeeperWithKey]

    @property
    def keeper(self) -> Member:
        return self.request.user  # type: ignore[return-value]  # the permissions let nobody else in

    def told(self, found: Round, line_number: int) -> Any:
        lines = lines_visible_to(self.keeper, found, now()).filter(line_number=line_number)
        told = listed_lines(found, lines_with_kinds(lines), self.keeper, today().year)
        return KeepersLineSerializer(told[0]).data


class LinesView(LineView):
    @extend_schema(
        summary="Put a lot on a round's list, as keeper",
        parameters=[SLUG],
        request=NewLineSerializer,
        responses={201: KeepersLineSerializer},
    )
    @written_once
    def post(self, request: Request, slug: str) -> Response:
        found = round_for_writing(self.keeper, slug)
        number = read_sent(NewLineSerializer(data=request.data))["lot"]
        lot = named("lot", lambda: lot_for_reading(self.keeper, number), NO_LOT)
        line = add_line(round=found, lot=lot, by=self.keeper, at=now())
        return Response(self.told(found, line.line_number), status=201)


class OneLineView(LineView):
    @extend_schema(summary="A line of a round's list, as keeper", parameters=[SLUG, LINE])
    @extend_schema(responses=KeepersLineSerializer)
    def get(self, request: Request, slug: str, line_number: int) -> Response:
        line = line_for_writing(self.keeper, slug, line_number)
        self.row_version = line.version
        return Response(self.told(line.round, line_number))

    @extend_schema(
        summary="Change or withdraw a line, as keeper",
        parameters=[SLUG, LINE],
        request=ChangedLineSerializer,
        responses=KeepersLineSerializer,
    )
    @written_once
    def patch(self, request: Request, slug: str, line_number: int) -> Response:
        sent = read_sent(ChangedLineSerializer(data=request.data))
        hold(line_for_writing(self.keeper, slug, line_number))
        line = line_for_writing(self.keeper, slug, line_number)
        demand_version(request, self.told(line.round, line_number), line.version)
        if "withdrawn" in sent:
            withdraw_line(line=line, by=self.keeper, at=now(), reason=sent.pop("withdrawn"))
        if sent:
            change_line(line=line, by=self.keeper, at=now(), **sent)
        self.row_version = line_for_writing(self.keeper, slug, line_number).version
        return Response(self.told(line.round, line_number))
