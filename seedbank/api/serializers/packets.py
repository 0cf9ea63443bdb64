"""Packets, and the whole chain of one: from the flower to the last count."""

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from crosses.facts.capsule import CHECK
from crosses.facts.harvest import HARVEST
from crosses.facts.pollination import POLLINATION
from crosses.models import Check, Harvest, Pollination, TouchUp
from seedbank.api.serializers.facts import ToldFacts
from seedbank.api.serializers.germination import PretreatmentSerializer
from seedbank.api.serializers.pieces import ShareSerializer
from seedbank.bank.facts import PACKET
from seedbank.bank.models import DonationLine, Packet
from seedbank.chain import Chain, ParentLink, SowingLink


class PacketSerializer(ToldFacts, serializers.ModelSerializer[Packet]):
    """A packet; who has it is not told, only whether it is you."""

    declared = PACKET
    facts_after = "seeds_how"

    lot = serializers.CharField(source="lot.number")
    name = serializers.CharField(source="lot.name_text")
    year = serializers.IntegerField(source="lot.year")
    split_from = serializers.CharField(source="split_from.number", allow_null=True, default=None)
    is_mine = serializers.SerializerMethodField()
    seeds_how = serializers.SerializerMethodField()

    class Meta:
        model = Packet
        fields = [
            "number",
            "lot",
            "name",
            "year",
            "seeds",
            "seeds_left",
            "seeds_how",
            "state",
            "made_at",
            "split_from",
            "is_mine",
        ]

    def get_is_mine(self, packet: Packet) -> bool:
        return bool(packet.holder_id == self.context["request"].user.pk)

    def get_seeds_how(self, packet: Packet) -> str:
        if packet.is_pinch:
            return "A pinch of dust seed; the number is a guess."
        return "Seeds put in when it was made, less those its movements took out."


class ParentSerializer(serializers.Serializer[ParentLink]):
    role = serializers.CharField()
    name = serializers.CharField(source="name_text")
    number = serializers.CharField(
        source="plant.number",
        allow_null=True,
        default=None,
        help_text="Null where the plant is not yours to see.",
    )


class CheckSerializer(ToldFacts, serializers.ModelSerializer[Check]):
    declared = CHECK
    facts_after = ""

    class Meta:
        model = Check
        fields: list[str] = []


class TouchUpSerializer(serializers.ModelSerializer[TouchUp]):
    class Meta:
        model = TouchUp
        fields = ["done_on", "pollen_state", "note"]


class PollinationSerializer(ToldFacts, serializers.ModelSerializer[Pollination]):
    declared = POLLINATION

    touch_ups = TouchUpSerializer(many=True)
    checks = serializers.SerializerMethodField()

    class Meta:
        model = Pollination
        fields = ["number", "touch_ups", "checks", "state", "capsules_set", "capsules_harvested"]

    @extend_schema_field(CheckSerializer(many=True))
    def get_checks(self, pollination: Pollination) -> object:
        standing = [check for check in pollination.checks.all() if not check.is_withdrawn]
        return CheckSerializer(standing, many=True).data


class HarvestSerializer(ToldFacts, serializers.ModelSerializer[Harvest]):
    declared = HARVEST

    clean_grams = serializers.FloatField(allow_null=True)

    class Meta:
        model = Harvest
        fields = [
            "number",
            "seeds_low",
            "seeds_high",
            "seeds_standard_error",
            "clean_grams",
            "thousand_seed_weight_grams",
        ]


class ChainCrossSerializer(serializers.Serializer[object]):
    number = serializers.CharField()
    own_number = serializers.CharField()
    season = serializers.IntegerField()
    pollen = serializers.CharField()


class MovementSerializer(serializers.Serializer[object]):
    step = serializers.IntegerField()
    at = serializers.DateTimeField()
    words = serializers.CharField()
    place = serializers.CharField()
    reference = serializers.CharField()
    note = serializers.CharField()


class ChainCountSerializer(serializers.Serializer[object]):
    counted_on = serializers.DateField()
    day = serializers.IntegerField(help_text="Days after sowing.")
    pot = serializers.IntegerField()
    newly_seen = serializers.IntegerField()
    total = serializers.IntegerField(help_text="Of all pots so far.")


class ChainSowingSerializer(serializers.Serializer[SowingLink]):
    number = serializers.CharField(source="sowing.number")
    sown_on = serializers.DateField(source="sowing.sown_on")
    seeds = serializers.IntegerField(source="sowing.seeds_sown")
    pretreatments = PretreatmentSerializer(source="sowing.pretreatments", many=True)
    counts = ChainCountSerializer(many=True)
    share = ShareSerializer(
        allow_null=True,
        help_text="Of the seeds in pots that somebody looked at; null where nobody has looked yet.",
    )
    is_open = serializers.BooleanField()


class ChainSerializer(serializers.Serializer[Chain]):
    """Everything from the flower to the counts, in the order in which it happened."""

    packet = PacketSerializer()
    formula = serializers.CharField(help_text="Seed parent first; else the name as written.")
    parents = ParentSerializer(many=True)
    is_private_cross = serializers.BooleanField(
        help_text="Its grower keeps the notes of the cross; it, its flowers and harvest are null."
    )
    cross = ChainCrossSerializer(allow_null=True)
    pollinations = PollinationSerializer(many=True)
    harvest = HarvestSerializer(allow_null=True)
    lot = serializers.CharField(source="lot.number")
    lot_origin = serializers.CharField(source="lot.origin")
    given_to_the_bank_on = serializers.SerializerMethodField()
    movements = MovementSerializer(many=True)
    parcel = serializers.CharField(
        source="promise.parcel.number",
        allow_null=True,
        default=None,
        help_text="Null where it is in none, or in one that is not yours to see.",
    )
    sowings = ChainSowingSerializer(many=True)

    def get_given_to_the_bank_on(self, chain: Chain) -> list[str]:
        return [
            line.donation.offered_at.date().isoformat()
            for line in chain.donation_lines
            if line.answer == DonationLine.Answer.ACCEPTED
        ]
