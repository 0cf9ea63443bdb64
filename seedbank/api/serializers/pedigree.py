"""What a plant is made of, and how close two plants are."""

from fractions import Fraction

from rest_framework import serializers

from crosses.calc.pedigree.generations import Generation
from crosses.calc.pedigree.kinship import Inbreeding, Relation
from crosses.calc.pedigree.shares import Composition
from crosses.queries.lineage import Founder
from seedbank.api.serializers.pieces import how

AT_LEAST = "An ancestor is unknown, so the true value may be higher."
EXPECTED = "Mixed pollen stands in the ancestry: an average over its plants."
PART = "The share as an exact fraction, as 3/8."


class InbreedingSerializer(serializers.Serializer[Inbreeding]):
    coefficient = serializers.FloatField(
        help_text="Chance that both genes at a place are copies of one ancestral gene."
    )
    is_at_least = serializers.BooleanField(help_text=AT_LEAST)
    is_expected = serializers.BooleanField(help_text=EXPECTED)
    known_share = serializers.FloatField(help_text="Share of the ancestry that is known.")
    how = how()


class TaxonShareSerializer(serializers.Serializer[tuple[str | None, Fraction]]):
    taxon = serializers.CharField(allow_null=True, help_text="Null for what is not known.")
    share = serializers.FloatField()
    fraction = serializers.CharField(help_text=PART)

    def to_representation(self, instance: tuple[str | None, Fraction]) -> dict[str, object]:
        taxon, share = instance
        return {"taxon": taxon, "share": float(share), "fraction": str(share)}


class CompositionSerializer(serializers.Serializer[Composition]):
    """Expected share of each taxon, largest first; they add up to one."""

    shares = TaxonShareSerializer(many=True)
    how = how()


class FounderSerializer(serializers.Serializer[Founder]):
    plant = serializers.CharField(
        source="plant.number",
        allow_null=True,
        default=None,
        help_text="Null for unknown parents, and where the plant is not yours to see.",
    )
    name = serializers.CharField(source="plant.name_text", allow_null=True, default=None)
    is_unknown = serializers.SerializerMethodField(help_text="It comes from unknown parents.")
    share = serializers.FloatField()
    fraction = serializers.CharField(source="share", help_text=PART)

    def get_is_unknown(self, founder: Founder) -> bool:
        return founder.number is None


class GenerationSerializer(serializers.Serializer[Generation]):
    name = serializers.CharField(help_text="pure, F1, F2, BC1 ...; empty where none is due.")
    how = how()


class RelationSerializer(serializers.Serializer[Relation]):
    kinship = serializers.FloatField(
        help_text="The inbreeding that seedlings of the two would have."
    )
    relationship = serializers.FloatField(help_text="Twice the kinship.")
    is_one_genotype = serializers.BooleanField(help_text="One plant, or divisions of one.")
    is_at_least = serializers.BooleanField(help_text=AT_LEAST)
    is_expected = serializers.BooleanField(help_text=EXPECTED)
    how = how()
