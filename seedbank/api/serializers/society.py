"""Taxa, counts, flowers and harvests by themselves; rounds, wishes, results, parcels, donations."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from crosses.models import Harvest, Pollination, Taxon
from seedbank.api.serializers.facts import ToldFacts
from seedbank.api.serializers.packets import HarvestSerializer, PollinationSerializer
from seedbank.bank.facts import DONATION
from seedbank.bank.models import Donation, DonationLine
from seedbank.exchange.models import Parcel, ParcelItem, Round
from seedbank.sowings.models import Count


class TaxonSerializer(serializers.ModelSerializer[Taxon]):
    name = serializers.CharField()

    class Meta:
        model = Taxon
        fields = [
            "id",
            "name",
            "genus",
            "species",
            "infraspecific_rank",
            "infraspecific_epithet",
            "is_hybrid",
            "authorship",
            "common_name",
            "storage_behaviour",
            "ripe_low_days",
            "ripe_high_days",
            "ripe_source",
            "hazard_note",
            "sowing_advice",
        ]


class CountRowSerializer(serializers.ModelSerializer[Count]):
    """One look at one pot."""

    sowing = serializers.CharField(source="replicate.sowing.number")
    pot = serializers.IntegerField(source="replicate.position")
    seeds = serializers.IntegerField(source="replicate.seeds", help_text="Sown in this pot.")
    sown_on = serializers.DateField(source="replicate.sowing.sown_on")
    day = serializers.SerializerMethodField(help_text="Days after sowing.")

    class Meta:
        model = Count
        fields = ["sowing", "pot", "seeds", "sown_on", "counted_on", "day", "newly_seen"]

    def get_day(self, count: Count) -> int:
        return (count.counted_on - count.replicate.sowing.sown_on).days


class PollinationRecordSerializer(PollinationSerializer):
    """A flower with the cross it was for."""

    cross = serializers.CharField(source="cross.number")
    formula = serializers.SerializerMethodField(help_text="Seed parent first.")
    is_mine = serializers.SerializerMethodField()

    class Meta(PollinationSerializer.Meta):
        fields = ["cross", "formula", *PollinationSerializer.Meta.fields, "is_mine"]

    def get_formula(self, pollination: Pollination) -> str:
        formula: str = self.context["formulas"][pollination.cross_id]
        return formula

    def get_is_mine(self, pollination: Pollination) -> bool:
        return bool(pollination.cross.grower_id == self.context["request"].user.pk)


class HarvestedSerializer(serializers.Serializer[Any]):
    pollination = serializers.CharField(source="pollination.number")
    capsules = serializers.IntegerField()


class WeighedSerializer(serializers.Serializer[Any]):
    seeds = serializers.IntegerField()
    grams = serializers.FloatField()


class HarvestRecordSerializer(HarvestSerializer):
    """A harvest with its cross and the flowers its capsules came from."""

    cross = serializers.CharField(source="cross.number")
    formula = serializers.SerializerMethodField(help_text="Seed parent first.")
    capsules = HarvestedSerializer(source="pollinations", many=True)
    samples = WeighedSerializer(many=True, help_text="What its seed was reckoned from by weight.")
    is_mine = serializers.SerializerMethodField()

    class Meta(HarvestSerializer.Meta):
        fields = [
            "cross",
            "formula",
            *HarvestSerializer.Meta.fields,
            "capsules",
            "samples",
            "is_mine",
        ]

    def get_formula(self, harvest: Harvest) -> str:
        formula: str = self.context["formulas"][harvest.cross_id]
        return formula

    def get_is_mine(self, harvest: Harvest) -> bool:
        return bool(harvest.cross.grower_id == self.context["request"].user.pk)


class RoundSerializer(serializers.ModelSerializer[Round]):
    """A round's dates, rules and draw, as every member may read them."""

    round = serializers.CharField(source="slug")
    packets_a_member = serializers.IntegerField(source="allowance")
    packets_more_for_a_donor = serializers.IntegerField(source="donor_extra")
    packets_of_a_line_a_member = serializers.IntegerField(source="copies_per_line")
    reserves_a_member = serializers.IntegerField(source="reserves")
    stage = serializers.SerializerMethodField()
    stage_words = serializers.SerializerMethodField()

    class Meta:
        model = Round
        fields = [
            "round",
            "name",
            "stage",
            "stage_words",
            "donations_close_at",
            "list_opens_at",
            "wishes_close_at",
            "posting_from",
            "rules_text",
            "policy",
            "packets_a_member",
            "packets_more_for_a_donor",
            "packets_of_a_line_a_member",
            "reserves_a_member",
            "draw_commitment",
            "frozen_at",
            "frozen_digest",
            "public_value_name",
            "public_value",
            "announced_at",
        ]

    def get_stage(self, found: Round) -> str:
        stage: str = self.context["stages"][found.pk].code
        return stage

    def get_stage_words(self, found: Round) -> str:
        words: str = self.context["stages"][found.pk].words
        return words


class WishesSerializer(serializers.Serializer[Any]):
    """Your list of a round; empty where you have none."""

    round = serializers.CharField()
    takes_wishes = serializers.BooleanField(help_text="Whether it may be changed now.")
    wishes_close_at = serializers.DateTimeField()
    main = serializers.ListField(
        child=serializers.IntegerField(), help_text="Line numbers, most wanted first."
    )
    reserve = serializers.ListField(child=serializers.IntegerField())
    changed_at = serializers.DateTimeField(allow_null=True)
    most_main = serializers.IntegerField()
    most_reserve = serializers.IntegerField()
    allowance_words = serializers.CharField()


class ReasonSerializer(serializers.Serializer[Any]):
    rank = serializers.IntegerField()
    line = serializers.CharField(source="line_number")
    name = serializers.CharField()
    is_reserve = serializers.BooleanField()
    is_given = serializers.BooleanField()
    code = serializers.CharField()
    sentence = serializers.CharField()


class OwnResultSerializer(serializers.Serializer[Any]):
    """What you were given, and why each wish was or was not met."""

    place = serializers.IntegerField(help_text="Your place in the draw.")
    of = serializers.IntegerField()
    packets = serializers.IntegerField()
    allowance = serializers.IntegerField()
    reasons = ReasonSerializer(many=True)


class MetSerializer(serializers.Serializer[Any]):
    met = serializers.IntegerField()
    of = serializers.IntegerField()


class ShortSerializer(serializers.Serializer[Any]):
    line = serializers.CharField(source="shortage.line")
    name = serializers.CharField()
    unmet = serializers.IntegerField(source="shortage.unmet", help_text="Main wishes not met.")


class RunResultSerializer(serializers.Serializer[Any]):
    """How the whole was shared out."""

    run = serializers.IntegerField(source="run.position")
    policy = serializers.CharField(source="run.policy")
    inputs_digest = serializers.CharField(source="run.inputs_digest")
    result_digest = serializers.CharField(source="run.result_digest")
    packets = serializers.IntegerField(source="measures.packets")
    first_choices = MetSerializer(source="measures.first_choices")
    top_three = MetSerializer(source="measures.top_three")
    mean_rank = serializers.FloatField(source="measures.mean_rank", allow_null=True)
    members_with_nothing = serializers.IntegerField(source="measures.empty_handed")
    short_lines = ShortSerializer(many=True)


class ParcelItemSerializer(serializers.ModelSerializer[ParcelItem]):
    packet = serializers.CharField(source="packet.number")
    lot = serializers.CharField(source="packet.lot.number")
    name = serializers.CharField(source="packet.lot.name_text")
    line = serializers.IntegerField(source="line.line_number")
    is_packed = serializers.SerializerMethodField()

    class Meta:
        model = ParcelItem
        fields = ["packet", "lot", "name", "line", "is_packed"]

    def get_is_packed(self, item: ParcelItem) -> bool:
        return item.packed_at is not None


class ParcelSerializer(serializers.ModelSerializer[Parcel]):
    """One of your parcels. Where it goes is not told here."""

    round = serializers.CharField(source="round.slug")
    packets = serializers.SerializerMethodField()

    class Meta:
        model = Parcel
        fields = ["number", "round", "posted_on", "weight_grams", "packets"]

    @extend_schema_field(ParcelItemSerializer(many=True))
    def get_packets(self, parcel: Parcel) -> Any:
        return ParcelItemSerializer(self.context["items"].get(parcel.pk, []), many=True).data


class DonationLineSerializer(serializers.ModelSerializer[DonationLine]):
    lot = serializers.CharField(source="lot.number")
    name = serializers.CharField(source="lot.name_text")

    class Meta:
        model = DonationLine
        fields = [
            "lot",
            "name",
            "packets_offered",
            "packets_received",
            "answer",
            "declined_reason",
            "answered_at",
        ]


class DonationSerializer(ToldFacts, serializers.ModelSerializer[Donation]):
    declared = DONATION
    facts_after = "received_at"

    donor = serializers.CharField(
        source="donor.number", help_text="The donor's member number: yours, or read as a keeper."
    )
    lines = DonationLineSerializer(many=True)

    class Meta:
        model = Donation
        fields = ["number", "donor", "offered_at", "received_at", "lines"]
