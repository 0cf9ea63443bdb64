"""Plants, crosses, seed lots, lines of the list, and oneself."""

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from crosses.facts.cross import CROSS
from crosses.facts.plant import PLANT
from crosses.models import Plant
from seedbank.api.serializers.facts import ToldFacts
from seedbank.api.serializers.pieces import NamedPlantSerializer, ShareSerializer
from seedbank.bank.facts import LOT
from seedbank.bank.models import Lot
from seedbank.bank.queries import seeds_in_words
from seedbank.exchange.facts import LINE
from seedbank.exchange.queries.listing import ListedLine
from seedbank.members.models import ApiToken, Member
from seedbank.sowings.queries.history import genus_of


class PlantSerializer(ToldFacts, serializers.ModelSerializer[Plant]):
    """A plant without its keeper; where a wild one grew is told by country only."""

    declared = PLANT

    taxon = serializers.CharField(source="taxon.name", allow_null=True, default=None)
    raised_from = serializers.SerializerMethodField(
        help_text="The cross's number; null where it is none, or not yours to see."
    )
    propagated_from = serializers.SerializerMethodField(
        help_text="The plant's number; null where it is none, or not yours to see."
    )
    is_alive = serializers.SerializerMethodField()
    is_mine = serializers.SerializerMethodField()

    class Meta:
        model = Plant
        fields = ["number", "taxon", "raised_from", "propagated_from", "is_alive", "is_mine"]

    def get_raised_from(self, plant: Plant) -> str | None:
        number: str | None = self.context["cross_numbers"].get(plant.raised_from_id)
        return number

    def get_propagated_from(self, plant: Plant) -> str | None:
        number: str | None = self.context["plant_numbers"].get(plant.propagated_from_id)
        return number

    def get_is_alive(self, plant: Plant) -> bool:
        return plant.died_on is None

    def get_is_mine(self, plant: Plant) -> bool:
        return bool(plant.keeper_id == self.context["request"].user.pk)


class CrossSerializer(ToldFacts):
    """A cross with how its flowers took; a flower nobody knows of yet is not among the decided."""

    declared = CROSS
    facts_at = "row.cross"

    number = serializers.CharField(source="row.cross.number")
    formula = serializers.CharField(source="row.formula", help_text="Seed parent first.")
    seed_parent = NamedPlantSerializer(source="parentage.seed_parent")
    pollen_parents = NamedPlantSerializer(source="parentage.pollen_parents", many=True)
    grower = serializers.CharField(
        source="row.cross.grower.donor_code",
        allow_null=True,
        help_text="The donor's code; never a name.",
    )
    flowers = serializers.IntegerField(source="row.flowers")
    take = ShareSerializer(source="row.take", help_text="Capsules set, of the flowers decided.")
    capsules_harvested = serializers.IntegerField(source="row.harvested")
    seeds_harvested = serializers.IntegerField(
        source="row.seeds", allow_null=True, help_text="Null where none has been counted."
    )


class LotSerializer(ToldFacts, serializers.ModelSerializer[Lot]):
    declared = LOT

    taxon = serializers.CharField(source="taxon.name", allow_null=True, default=None)
    genus = serializers.SerializerMethodField()
    formula = serializers.SerializerMethodField(help_text="Null where no cross is recorded.")
    cross = serializers.SerializerMethodField(
        help_text="The cross's number; null where it is none, or not yours to see."
    )
    donor = serializers.CharField(
        source="raised_by.donor_code", allow_null=True, help_text="The donor's code; never a name."
    )
    is_the_banks = serializers.SerializerMethodField()
    is_mine = serializers.SerializerMethodField()
    seeds_how = serializers.SerializerMethodField(help_text="The seeds in words, and how known.")
    germination = serializers.SerializerMethodField(help_text="Null where nobody has looked yet.")
    caution = serializers.SerializerMethodField()

    class Meta:
        model = Lot
        fields = [
            "number",
            "taxon",
            "genus",
            "formula",
            "cross",
            "donor",
            "is_the_banks",
            "is_mine",
            "seeds_how",
            "germination",
            "caution",
        ]

    def get_genus(self, lot: Lot) -> str:
        return genus_of(lot)

    def get_formula(self, lot: Lot) -> str | None:
        found = self.context["parentages"].get(lot.harvest.cross_id) if lot.harvest else None
        return found.formula if found else None

    def get_cross(self, lot: Lot) -> str | None:
        found = self.context["parentages"].get(lot.harvest.cross_id) if lot.harvest else None
        return found.cross if found else None

    def get_is_the_banks(self, lot: Lot) -> bool:
        return lot.owner_id is None

    def get_is_mine(self, lot: Lot) -> bool:
        return bool(lot.owner_id == self.context["request"].user.pk)

    def get_seeds_how(self, lot: Lot) -> str:
        return seeds_in_words(lot)

    @extend_schema_field(ShareSerializer(allow_null=True))
    def get_germination(self, lot: Lot) -> dict[str, object] | None:
        share = self.context["shares"].get(lot.pk)
        return ShareSerializer(share).data if share else None

    def get_caution(self, lot: Lot) -> str:
        return str(self.context["cautions"][lot.pk])


class LineSerializer(serializers.Serializer[ListedLine]):
    """A line of the exchange list, in the words of its page."""

    round = serializers.CharField(source="line.round.slug")
    line = serializers.IntegerField(source="number")
    lot = serializers.CharField(source="line.lot.number")
    name = serializers.CharField()
    genus = serializers.CharField()
    description = serializers.CharField()
    origin = serializers.CharField()
    parents = serializers.ListField(
        child=serializers.CharField(), help_text="Seed parent first; empty where none is recorded."
    )
    year = serializers.IntegerField()
    age = serializers.CharField()
    donor = serializers.CharField(source="donor_code", help_text="The donor's code; never a name.")
    seeds_per_packet = serializers.CharField(source="seeds")
    packets = serializers.IntegerField()
    asked = serializers.IntegerField(help_text="Members who have it among their main wishes.")
    odds = serializers.CharField()
    germination = ShareSerializer(allow_null=True)
    caution = serializers.CharField()
    bar = serializers.CharField(help_text="Why it may not be sent to your country; else empty.")
    withdrawn = serializers.CharField(help_text="Why it was taken off the list; else empty.")
    can_be_asked = serializers.BooleanField()
    wished_rank = serializers.IntegerField(allow_null=True)


class KeepersLineSerializer(ToldFacts, LineSerializer):
    """A line as a keeper, who may change it, is told it."""

    declared = LINE
    facts_at = "line"
    facts_after = "line"


class KeySerializer(serializers.ModelSerializer[ApiToken]):
    class Meta:
        model = ApiToken
        fields = ["name", "scope", "expires_at"]


class MeSerializer(serializers.ModelSerializer[Member]):
    """Who is asking, and what they may do. Addresses are not told here, not even one's own."""

    country = serializers.CharField(help_text="ISO 3166-1, two letters.")
    is_keeper = serializers.BooleanField()
    is_packer = serializers.BooleanField()
    key = serializers.SerializerMethodField(help_text="Null when signed in by the pages.")

    class Meta:
        model = Member
        fields = ["number", "name", "country", "donor_code", "is_keeper", "is_packer", "key"]

    @extend_schema_field(KeySerializer(allow_null=True))
    def get_key(self, member: Member) -> dict[str, object] | None:
        key = self.context["request"].auth
        return KeySerializer(key).data if isinstance(key, ApiToken) else None
