"""What is sent of sowings and counts, and a count as it was kept."""

from typing import Any

from rest_framework import serializers

from seedbank.api.serializers.facts import SentFacts, ToldFacts
from seedbank.api.serializers.germination import PretreatmentSerializer
from seedbank.api.serializers.writing import MOST_SEEDS, NumberField, Sent
from seedbank.sowings.facts import COUNT, SOWING
from seedbank.sowings.models import Pretreatment


class NewSowingSerializer(SentFacts):
    declared = SOWING

    packet = NumberField("packet")
    replicate_seeds = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=MOST_SEEDS),
        required=False,
        max_length=100,
        help_text="Seeds in each pot; left out: all in one pot.",
    )
    pretreatments = PretreatmentSerializer(many=True, required=False)

    def validate_pretreatments(self, value: list[dict[str, Any]]) -> list[Pretreatment]:
        return [Pretreatment(**step) for step in value]


class NewCountSerializer(SentFacts):
    declared = COUNT

    number = serializers.IntegerField(
        min_value=0,
        max_value=MOST_SEEDS,
        help_text="Seedlings; 0 is a look that found nothing new, and is worth sending.",
    )
    pot = serializers.IntegerField(
        min_value=1,
        max_value=MOST_SEEDS,
        required=False,
        help_text="Left out where the sowing has one pot.",
    )


class ClosedSerializer(Sent):
    """Nothing more is waited for; what the seeds that did not come looked like."""

    closed_on = serializers.DateField()
    reason = serializers.CharField(max_length=200, required=False, allow_blank=True)
    left_fresh = serializers.IntegerField(min_value=0, required=False, max_value=MOST_SEEDS)
    left_dead = serializers.IntegerField(min_value=0, required=False, max_value=MOST_SEEDS)
    left_abnormal = serializers.IntegerField(min_value=0, required=False, max_value=MOST_SEEDS)


class CountSerializer(ToldFacts):
    """A count as it was kept."""

    declared = COUNT
    facts_after = "pot"

    pot = serializers.IntegerField(source="replicate.position")
    newly_seen = serializers.IntegerField()
    typed_number = serializers.IntegerField()
