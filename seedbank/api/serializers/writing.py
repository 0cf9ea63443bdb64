"""The shape of what scripts send. Whether it is allowed is for the acts to say."""

from typing import Any

from rest_framework import serializers

from crosses.base.visibility import Visibility
from crosses.calc.checkdigit import read_number
from crosses.calc.errors import BadInput
from seedbank.api.filters import not_known
from seedbank.api.serializers.germination import PretreatmentSerializer
from seedbank.sowings.models import Count, Pretreatment, Sowing

# What the databases hold in a whole number; more seed than this nobody has.
MOST_SEEDS = 2_000_000_000


class Sent(serializers.Serializer[Any]):
    """What is sent; a word nobody knows is refused, not passed over."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, dict) and (unknown := sorted(set(data) - set(self.fields))):
            known = set(self.fields)
            raise serializers.ValidationError({name: [not_known(name, known)] for name in unknown})
        return super().to_internal_value(data)


class NumberField(serializers.CharField):
    """A number with check digits, however it is typed; a mistyped digit is told."""

    def __init__(self, kind: str, **options: Any) -> None:
        self.kind = kind
        super().__init__(max_length=40, **options)

    def to_internal_value(self, data: Any) -> str:
        try:
            return read_number(super().to_internal_value(data), kind=self.kind)
        except BadInput as wrong:
            raise serializers.ValidationError(wrong.message) from wrong


class NewSowingSerializer(Sent):
    packet = NumberField("packet")
    sown_on = serializers.DateField()
    seeds_sown = serializers.IntegerField(min_value=1, max_value=MOST_SEEDS)
    replicate_seeds = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=MOST_SEEDS),
        required=False,
        max_length=100,
        help_text="Seeds in each pot; left out: all in one pot.",
    )
    purpose = serializers.ChoiceField(choices=Sowing.Purpose.choices, required=False)
    medium = serializers.CharField(max_length=100, required=False, allow_blank=True)
    light = serializers.ChoiceField(choices=Sowing.Light.choices, required=False, allow_blank=True)
    where = serializers.CharField(max_length=100, required=False, allow_blank=True)
    temperature_low_celsius = serializers.DecimalField(
        max_digits=4, decimal_places=1, required=False, allow_null=True
    )
    temperature_high_celsius = serializers.DecimalField(
        max_digits=4, decimal_places=1, required=False, allow_null=True
    )
    visibility = serializers.ChoiceField(choices=Visibility.choices, required=False)
    note = serializers.CharField(max_length=5000, required=False, allow_blank=True)
    pretreatments = PretreatmentSerializer(many=True, required=False)

    def validate_pretreatments(self, value: list[dict[str, Any]]) -> list[Pretreatment]:
        return [Pretreatment(**step) for step in value]


class NewCountSerializer(Sent):
    counted_on = serializers.DateField()
    number = serializers.IntegerField(
        min_value=0,
        max_value=MOST_SEEDS,
        help_text="Seedlings; 0 is a look that found nothing new, and is worth sending.",
    )
    typed_as = serializers.ChoiceField(
        choices=Count.TypedAs.choices, help_text="New since the last look, or all so far."
    )
    pot = serializers.IntegerField(
        min_value=1,
        max_value=MOST_SEEDS,
        required=False,
        help_text="Left out where the sowing has one pot.",
    )
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


class ClosedSerializer(Sent):
    """Nothing more is waited for; what the seeds that did not come looked like."""

    closed_on = serializers.DateField()
    reason = serializers.CharField(max_length=200, required=False, allow_blank=True)
    left_fresh = serializers.IntegerField(min_value=0, required=False, max_value=MOST_SEEDS)
    left_dead = serializers.IntegerField(min_value=0, required=False, max_value=MOST_SEEDS)
    left_abnormal = serializers.IntegerField(min_value=0, required=False, max_value=MOST_SEEDS)


class CountSerializer(serializers.Serializer[Count]):
    """A count as it was kept."""

    pot = serializers.IntegerField(source="replicate.position")
    counted_on = serializers.DateField()
    newly_seen = serializers.IntegerField()
    typed_as = serializers.CharField()
    typed_number = serializers.IntegerField()
    note = serializers.CharField()
