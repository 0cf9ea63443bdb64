"""What may be asked for, by name; a name nobody knows is refused, not passed over.

A mistyped filter that is passed over answers with everything, and looks like an answer.
"""

import difflib
from decimal import Decimal
from typing import Any

from django.db.models import Q, QuerySet
from django_filters import rest_framework as filters
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.views import APIView

from crosses.base.pages import NumberField
from crosses.calc.errors import BadInput
from crosses.models import Cross, Harvest, Plant, Pollination, Taxon
from seedbank.bank.models import Donation, Lot, Packet
from seedbank.exchange.models import ListLine, Parcel, Round
from seedbank.exchange.queries.listing import Filters, narrowed
from seedbank.sowings.models import Count, Pretreatment, Sowing
from seedbank.sowings.queries import narrowing

# "format" chooses JSON or CSV, the others where a page begins and how long it is.
OF_EVERY_LIST = {"format", "cursor", "page_size"}
# Two centuries; the oldest seed that came up was older, but of no society.
MOST_DAYS = 73_000


class NamedFilters(filters.DjangoFilterBackend):  # type: ignore[misc]  # the library is untyped
    """Filters a list, and refuses a parameter the list does not know."""

    def filter_queryset(
        self, request: Request, queryset: QuerySet[Any], view: APIView
    ) -> QuerySet[Any]:
        filterset = self.get_filterset_class(view, queryset)
        known = {*OF_EVERY_LIST, *(filterset.base_filters if filterset else ())}
        known |= set(getattr(view, "other_parameters", ()))
        unknown = sorted(set(request.query_params) - known)
        if unknown:
            raise ValidationError({name: [not_known(name, known)] for name in unknown})
        found: QuerySet[Any] = super().filter_queryset(request, queryset, view)
        return found


def not_known(name: str, known: set[str]) -> str:
    near = difflib.get_close_matches(name, known, n=1)
    return f"Did you mean '{near[0]}'?" if near else f"Known here: {', '.join(sorted(known))}."


class WrittenNumberFilter(filters.CharFilter):  # type: ignore[misc]  # the library is untyped
    """A number with check digits; a mistyped one is refused in words."""

    field_class = NumberField


def _text(words: str, method: str) -> filters.CharFilter:
    return filters.CharFilter(method=method, help_text=words)


class GerminationFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    taxon = _text("A taxon, by any words of its name: vulgaris.", "filter_taxon")
    genus = _text("A genus: Primula.", "filter_genus")
    seed_parent = _text("A seed parent, by plant number or a part of its name.", "filter_parent")
    pollen_parent = _text("A pollen parent; of a mixture, any of it.", "filter_parent")
    parent = _text("A parent in either role.", "filter_parent")
    ancestor = _text(
        "A plant anywhere above the seed, by number or a part of its name.", "filter_ancestor"
    )
    group = _text("A cultivar group that stands in the seed's name: Hollowbeck.", "filter_group")
    pollen = filters.ChoiceFilter(
        field_name="packet__lot__harvest__cross__pollen",
        choices=Cross.Pollen.choices,
        help_text="Where the pollen came from.",
    )
    cross = WrittenNumberFilter(kind="cross", method="filter_cross", help_text="A cross's number.")
    lot = WrittenNumberFilter(
        kind="lot", field_name="packet__lot__number", help_text="A seed lot's number."
    )
    packet = WrittenNumberFilter(
        kind="packet", field_name="packet__number", help_text="A packet's number."
    )
    grower = _text("Who sowed: a donor's code, or me.", "filter_grower")
    season = filters.NumberFilter(
        method="filter_season", help_text="The year of the pollination, where the cross is told."
    )
    harvest_year = filters.NumberFilter(
        field_name="packet__lot__year", help_text="Year in which the seed was harvested."
    )
    sown_year = filters.NumberFilter(
        field_name="sown_on", lookup_expr="year", help_text="Year in which it was sown."
    )
    sown_from = filters.DateFilter(
        field_name="sown_on", lookup_expr="gte", help_text="Sown on this day or later."
    )
    sown_to = filters.DateFilter(
        field_name="sown_on", lookup_expr="lte", help_text="Sown on this day or earlier."
    )
    seed_age_min_days = filters.NumberFilter(
        method="filter_age_min",
        min_value=0,
        max_value=MOST_DAYS,
        help_text="Seed certainly of this age or older when sown.",
    )
    seed_age_max_days = filters.NumberFilter(
        method="filter_age_max",
        min_value=0,
        max_value=MOST_DAYS,
        help_text="Seed certainly of this age or younger when sown.",
    )
    treatment = filters.ChoiceFilter(
        choices=[*Pretreatment.Kind.choices, (narrowing.UNTREATED, "none")],
        method="filter_treatment",
        help_text="A step of what was done to the seed before sowing; none: sown as it was.",
    )
    temperature_min_celsius = filters.NumberFilter(
        field_name="temperature_low_celsius",
        lookup_expr="gte",
        help_text="Never colder than this, as far as said.",
    )
    temperature_max_celsius = filters.NumberFilter(
        method="filter_temperature_max", help_text="Never warmer than this, as far as said."
    )
    purpose = filters.ChoiceFilter(choices=Sowing.Purpose.choices, help_text="Why it was sown.")
    is_open = filters.BooleanFilter(
        field_name="closed_on", lookup_expr="isnull", help_text="Whether more may still come up."
    )
    is_looked_at = filters.BooleanFilter(
        method="filter_looked_at", help_text="Whether anybody has looked at it yet."
    )

    class Meta:
        model = Sowing
        fields: tuple[str, ...] = ()

    def filter_taxon(self, sowings: QuerySet[Sowing], name: str, value: str) -> QuerySet[Sowing]:
        return narrowing.of_taxon(sowings, value)

    def filter_genus(self, sowings: QuerySet[Sowing], name: str, value: str) -> QuerySet[Sowing]:
        return narrowing.of_genus(sowings, value)

    def filter_parent(self, sowings: QuerySet[Sowing], name: str, value: str) -> QuerySet[Sowing]:
        roles = {
            "seed_parent": {narrowing.SEED},
            "pollen_parent": {narrowing.POLLEN},
            "parent": {narrowing.SEED, narrowing.POLLEN},
        }
        try:
            return narrowing.from_parent(
                sowings, self.request.user, value, roles=frozenset(roles[name])
            )
        except BadInput as wrong:
            raise ValidationError({name: [wrong.message]}) from wrong

    def filter_ancestor(self, sowings: QuerySet[Sowing], name: str, value: str) -> QuerySet[Sowing]:
        try:
            return narrowing.from_ancestor(sowings, self.request.user, value)
        except BadInput as wrong:
            raise ValidationError({name: [wrong.message]}) from wrong

    def filter_group(self, sowings: QuerySet[Sowing], name: str, value: str) -> QuerySet[Sowing]:
        return narrowing.of_group(sowings, value)

    def filter_season(
        self, sowings: QuerySet[Sowing], name: str, value: Decimal
    ) -> QuerySet[Sowing]:
        return narrowing.of_season(sowings, self.request.user, int(value))

    def filter_age_min(
        self, sowings: QuerySet[Sowing], name: str, value: Decimal
    ) -> QuerySet[Sowing]:
        return narrowing.of_age(sowings, from_days=int(value))

    def filter_age_max(
        self, sowings: QuerySet[Sowing], name: str, value: Decimal
    ) -> QuerySet[Sowing]:
        return narrowing.of_age(sowings, to_days=int(value))

    def filter_cross(self, sowings: QuerySet[Sowing], name: str, value: str) -> QuerySet[Sowing]:
        return narrowing.from_cross(sowings, self.request.user, value)

    def filter_grower(self, sowings: QuerySet[Sowing], name: str, value: str) -> QuerySet[Sowing]:
        return narrowing.of_grower(sowings, self.request.user, value)

    def filter_treatment(
        self, sowings: QuerySet[Sowing], name: str, value: str
    ) -> QuerySet[Sowing]:
        return narrowing.with_treatment(sowings, value)

    def filter_temperature_max(
        self, sowings: QuerySet[Sowing], name: str, value: float
    ) -> QuerySet[Sowing]:
        """A sowing kept at one temperature has that as its lower one only."""
        one_only = Q(temperature_high_celsius=None, temperature_low_celsius__lte=value)
        return sowings.filter(Q(temperature_high_celsius__lte=value) | one_only)

    def filter_looked_at(
        self,
        sowings: QuerySet[Sowing],
        name: str,
        value: bool,  # noqa: FBT001  given by position
    ) -> QuerySet[Sowing]:
        return narrowing.looked_at(sowings, yes=value)


class PacketFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    lot = WrittenNumberFilter(kind="lot", field_name="lot__number", help_text="Its lot's number.")
    state = filters.ChoiceFilter(choices=Packet.State.choices, help_text="What became of it.")
    is_mine = filters.BooleanFilter(method="filter_mine", help_text="Whether you have it.")

    class Meta:
        model = Packet
        fields: tuple[str, ...] = ()

    def filter_mine(
        self,
        packets: QuerySet[Packet],
        name: str,
        value: bool,  # noqa: FBT001  given by position
    ) -> QuerySet[Packet]:
        mine = Q(holder=self.request.user)
        return packets.filter(mine if value else ~mine)


class LotFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    name = filters.CharFilter(
        field_name="name_text", lookup_expr="icontains", help_text="A part of the written name."
    )
    year = filters.NumberFilter(help_text="Year of harvest.")
    origin = filters.ChoiceFilter(choices=Lot.Origin.choices, help_text="Where seed comes from.")

    class Meta:
        model = Lot
        fields: tuple[str, ...] = ()


class CrossFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    season = filters.NumberFilter(help_text="The year of the pollination.")
    seed_parent = filters.CharFilter(
        field_name="seed_parent__name_text",
        lookup_expr="icontains",
        help_text="A part of the seed parent's name.",
    )
    pollen_parent = filters.CharFilter(
        field_name="pollen_parent__name_text",
        lookup_expr="icontains",
        help_text="A part of the pollen parent's name.",
    )
    pollen = filters.ChoiceFilter(choices=Cross.Pollen.choices, help_text="Where pollen came from.")

    class Meta:
        model = Cross
        fields: tuple[str, ...] = ()


class PlantFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    name = filters.CharFilter(
        field_name="name_text", lookup_expr="icontains", help_text="A part of the written name."
    )
    genus = filters.CharFilter(
        field_name="taxon__genus", lookup_expr="iexact", help_text="The genus of its taxon."
    )
    is_alive = filters.BooleanFilter(
        field_name="died_on", lookup_expr="isnull", help_text="Whether it still lives."
    )

    class Meta:
        model = Plant
        fields: tuple[str, ...] = ()


class ListFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    text = filters.CharFilter(help_text="A line's number, a word of it, or a donor's code.")
    genus = filters.CharFilter(help_text="A genus.")
    origin = filters.ChoiceFilter(choices=Lot.Origin.choices, help_text="Where seed comes from.")
    parent = filters.CharFilter(help_text="A part of a parent's name.")

    class Meta:
        model = ListLine
        fields: tuple[str, ...] = ()

    def filter_queryset(self, lines: QuerySet[ListLine]) -> QuerySet[ListLine]:
        """The same words narrow the page and the API."""
        return narrowed(lines, Filters(**self.form.cleaned_data))


class TaxonFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    genus = filters.CharFilter(lookup_expr="iexact", help_text="A genus.")
    species = filters.CharFilter(lookup_expr="iexact", help_text="A species epithet.")

    class Meta:
        model = Taxon
        fields: tuple[str, ...] = ()


class PollinationFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    cross = WrittenNumberFilter(
        kind="cross", field_name="cross__number", help_text="A cross's number."
    )
    season = filters.NumberFilter(
        field_name="cross__season", help_text="The year of the pollination."
    )
    state = filters.ChoiceFilter(
        choices=Pollination.State.choices, help_text="What its checks add up to."
    )
    pollinated_from = filters.DateFilter(
        field_name="pollinated_on", lookup_expr="gte", help_text="On this day or later."
    )
    pollinated_to = filters.DateFilter(
        field_name="pollinated_on", lookup_expr="lte", help_text="On this day or earlier."
    )
    is_mine = filters.BooleanFilter(method="filter_mine", help_text="Whether it is your cross.")

    class Meta:
        model = Pollination
        fields: tuple[str, ...] = ()

    def filter_mine(
        self,
        pollinations: QuerySet[Pollination],
        name: str,
        value: bool,  # noqa: FBT001  given by position
    ) -> QuerySet[Pollination]:
        mine = Q(cross__grower=self.request.user)
        return pollinations.filter(mine if value else ~mine)


class HarvestFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    cross = WrittenNumberFilter(
        kind="cross", field_name="cross__number", help_text="A cross's number."
    )
    harvested_from = filters.DateFilter(
        field_name="harvested_on", lookup_expr="gte", help_text="On this day or later."
    )
    harvested_to = filters.DateFilter(
        field_name="harvested_on", lookup_expr="lte", help_text="On this day or earlier."
    )

    class Meta:
        model = Harvest
        fields: tuple[str, ...] = ()


class CountFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    sowing = WrittenNumberFilter(
        kind="sowing", field_name="replicate__sowing__number", help_text="A sowing's number."
    )
    counted_from = filters.DateFilter(
        field_name="counted_on", lookup_expr="gte", help_text="On this day or later."
    )
    counted_to = filters.DateFilter(
        field_name="counted_on", lookup_expr="lte", help_text="On this day or earlier."
    )

    class Meta:
        model = Count
        fields: tuple[str, ...] = ()


class RoundFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    class Meta:
        model = Round
        fields: tuple[str, ...] = ()


class ParcelFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    round = filters.CharFilter(field_name="round__slug", help_text="A round's short name.")

    class Meta:
        model = Parcel
        fields: tuple[str, ...] = ()


class DonationFilters(filters.FilterSet):  # type: ignore[misc]  # the library is untyped
    is_waiting = filters.BooleanFilter(
        field_name="received_at",
        lookup_expr="isnull",
        help_text="Whether nothing of it is answered yet.",
    )

    class Meta:
        model = Donation
        fields: tuple[str, ...] = ()
