"""One record by its number: what its list tells, and what is reckoned for it alone."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from crosses.models import Plant
from seedbank.api.serializers.fertility import (
    FlowerSerializer,
    PairChanceSerializer,
    RoleSerializer,
    SeedsPerCapsuleSerializer,
)
from seedbank.api.serializers.pedigree import (
    CompositionSerializer,
    FounderSerializer,
    GenerationSerializer,
    InbreedingSerializer,
    RelationSerializer,
)
from seedbank.api.serializers.records import CrossSerializer, LotSerializer, PlantSerializer
from seedbank.api.serializers.storage import (
    PacketPlanSerializer,
    PooledSerializer,
    SeedNumberSerializer,
    SeedsToSowSerializer,
    StorageSerializer,
)
from seedbank.bank.models import Lot


class PlantDetailSerializer(PlantSerializer):
    inbreeding = serializers.SerializerMethodField()
    composition = serializers.SerializerMethodField()
    founders = serializers.SerializerMethodField(
        help_text="Plants at the head of its pedigree with their expected shares, largest first."
    )
    generation = serializers.SerializerMethodField()
    as_seed_parent = serializers.SerializerMethodField()
    as_pollen_parent = serializers.SerializerMethodField()

    class Meta(PlantSerializer.Meta):
        fields = [
            *PlantSerializer.Meta.fields,
            "inbreeding",
            "composition",
            "founders",
            "generation",
            "as_seed_parent",
            "as_pollen_parent",
        ]

    @extend_schema_field(InbreedingSerializer)
    def get_inbreeding(self, plant: Plant) -> Any:
        return InbreedingSerializer(self.context["made_of"].inbreeding).data

    @extend_schema_field(CompositionSerializer)
    def get_composition(self, plant: Plant) -> Any:
        return CompositionSerializer(self.context["made_of"].composition).data

    @extend_schema_field(FounderSerializer(many=True))
    def get_founders(self, plant: Plant) -> Any:
        return FounderSerializer(self.context["made_of"].founders, many=True).data

    @extend_schema_field(GenerationSerializer)
    def get_generation(self, plant: Plant) -> Any:
        return GenerationSerializer(self.context["made_of"].generation).data

    @extend_schema_field(RoleSerializer)
    def get_as_seed_parent(self, plant: Plant) -> Any:
        return RoleSerializer(self.context["figures"][0]).data

    @extend_schema_field(RoleSerializer)
    def get_as_pollen_parent(self, plant: Plant) -> Any:
        return RoleSerializer(self.context["figures"][1]).data


class LotDetailSerializer(LotSerializer):
    seed_number = SeedNumberSerializer(source="*")
    packet_plan = serializers.SerializerMethodField(
        help_text="Null where nobody counted the seed, or packets are made already."
    )
    germination_over_sowings = serializers.SerializerMethodField(
        help_text="Null where nobody has looked yet."
    )
    seeds_to_sow = serializers.SerializerMethodField(
        help_text="Null where nothing of its kind has come up yet."
    )
    storage_outlook = serializers.SerializerMethodField(
        help_text="Null where the day of harvest is not known."
    )

    class Meta(LotSerializer.Meta):
        fields = [
            *LotSerializer.Meta.fields,
            "seed_number",
            "packet_plan",
            "germination_over_sowings",
            "seeds_to_sow",
            "storage_outlook",
        ]

    @extend_schema_field(PacketPlanSerializer(allow_null=True))
    def get_packet_plan(self, lot: Lot) -> Any:
        plan = self.context["packet_plan"]
        return PacketPlanSerializer(plan).data if plan else None

    @extend_schema_field(PooledSerializer(allow_null=True))
    def get_germination_over_sowings(self, lot: Lot) -> Any:
        pooled = self.context["over_sowings"].pooled
        return PooledSerializer(pooled).data if pooled else None

    @extend_schema_field(SeedsToSowSerializer(allow_null=True))
    def get_seeds_to_sow(self, lot: Lot) -> Any:
        found = self.context["over_sowings"]
        return SeedsToSowSerializer(found).data if found.advice else None

    @extend_schema_field(StorageSerializer(allow_null=True))
    def get_storage_outlook(self, lot: Lot) -> Any:
        outlook = self.context["storage_outlook"]
        return StorageSerializer(outlook).data if outlook else None


class CrossDetailSerializer(CrossSerializer):
    chance_of_pair = serializers.SerializerMethodField(
        help_text="Null for selfings, mixed and open pollen, and where no flower is decided yet."
    )
    relation_of_parents = serializers.SerializerMethodField(
        help_text="Null where the pollen is not that of one known plant."
    )
    seeds_per_capsule = serializers.SerializerMethodField(
        help_text="Null where no seed was counted; guesses are left out."
    )
    pollinations = serializers.SerializerMethodField(
        help_text="Its flowers, each with the forecast of its capsule's opening."
    )

    @extend_schema_field(PairChanceSerializer(allow_null=True))
    def get_chance_of_pair(self, row: object) -> Any:
        chance = self.context["chance_of_pair"]
        return PairChanceSerializer(chance).data if chance else None

    @extend_schema_field(RelationSerializer(allow_null=True))
    def get_relation_of_parents(self, row: object) -> Any:
        relation = self.context["relation_of_parents"]
        return RelationSerializer(relation).data if relation else None

    @extend_schema_field(SeedsPerCapsuleSerializer(allow_null=True))
    def get_seeds_per_capsule(self, row: object) -> Any:
        seeds = self.context["seeds_per_capsule"]
        return SeedsPerCapsuleSerializer(seeds).data if seeds else None

    @extend_schema_field(FlowerSerializer(many=True))
    def get_pollinations(self, row: object) -> Any:
        return FlowerSerializer(self.context["pollinations"], many=True).data
