"""All that is reckoned from the counts of one sowing."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from crosses.formats.charts import GerminationStep
from seedbank.api.serializers.germination import GerminationSerializer, OwnSowingSerializer
from seedbank.api.serializers.pieces import IntervalSerializer, ShareSerializer, how
from seedbank.calc.germination import Curve, GerminationIndices, ReplicateCheck, TimeToShare
from seedbank.sowings.queries.history import HistoryRow

INDICES = (
    "N came of n sown; x newly seen on day T, X so far. Mean time sum xT/N, its lower end with the"
    " day of the look before; variance over N-1. Median: Coolbear and others 1984, Farooq and"
    " others 2005. Velocity 100/mean time (Kotowski 1926). Uncertainty: Labouriau and Valadares"
    " 1976. Synchrony: Primack 1980. Speed sum x/T: Maguire 1962. Sum of (last look - T) x/n:"
    " Melville and others 1980. Sum of running percentages: Timson 1965. Peak value times mean"
    " daily percentage: Czabator 1962; by Djavanshir and Pourbeik 1976. Uniformity: Heydecker 1973."
    " Null where an index has no value, which is not nought."
)
COURSE = "Share of all seeds that had come by each day, with its 95 % interval."


def _number(words: str = "") -> serializers.FloatField:
    return serializers.FloatField(allow_null=True, help_text=words)


class IndicesSerializer(serializers.Serializer[GerminationIndices]):
    final_share = ShareSerializer()
    final_share_exact = ShareSerializer()
    mean_germination_time_days = _number()
    mean_germination_time_lower_days = _number()
    variance_days2 = _number()
    standard_error_days = _number()
    coefficient_of_variation = _number()
    mean_rate_per_day = _number()
    mean_rate_variance_per_day2 = _number()
    coefficient_of_velocity = _number()
    median_time_coolbear_days = _number()
    median_time_farooq_days = _number()
    median_time_of_all_sown_days = _number()
    uncertainty_bits = _number()
    synchrony = _number()
    speed_maguire_per_day = _number()
    melville_germination_index_days = _number()
    timson = _number()
    timson_note = serializers.CharField(help_text="Why it cannot be compared; else empty.")
    peak_value = _number()
    mean_daily_percent = _number()
    germination_value_czabator = _number()
    germination_value_djavanshir_pourbeik = _number()
    uniformity_per_day2 = _number()
    first_day = _number()
    last_day = _number()
    spread_days = _number()
    peak_days = serializers.ListField(child=serializers.FloatField())
    how = serializers.SerializerMethodField()

    def get_how(self, indices: GerminationIndices) -> str:
        return INDICES


class StepSerializer(serializers.Serializer[GerminationStep]):
    day = serializers.FloatField()
    share = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()


class TimeToShareSerializer(serializers.Serializer[TimeToShare]):
    """Day by which a share of all seeds sown has come, with its 95 % interval."""

    share = serializers.FloatField()
    day = _number("Null where so many do not come.")
    low = _number()
    high = _number("Null where the counts leave open that so many never come.")
    how = how()


class CurveSerializer(serializers.Serializer[Curve]):
    """A fitted curve; where it is not identified, `how` says why and only the course stands."""

    family = serializers.CharField()
    is_identified = serializers.BooleanField(source="identified")
    germinable_share = IntervalSerializer(
        allow_null=True, help_text="Share that comes in the end, of all seeds."
    )
    median_days = IntervalSerializer(allow_null=True, help_text="Of those that come.")
    steepness = IntervalSerializer(allow_null=True)
    log_likelihood = _number()
    how = how()


class ReplicatesSerializer(serializers.Serializer[ReplicateCheck]):
    """The pots held against the published tolerance for replicates of 100 seeds."""

    average_percent = serializers.IntegerField()
    spread_percent = serializers.FloatField()
    tolerated_percent = serializers.IntegerField(allow_null=True)
    verdict = serializers.CharField()
    how = how()


class SowingDetailSerializer(GerminationSerializer):
    """A sowing with all that is reckoned from its counts; null where nobody has looked."""

    indices = IndicesSerializer(allow_null=True)
    course = serializers.SerializerMethodField(help_text=COURSE)
    course_how = serializers.SerializerMethodField(help_text="How the course was computed.")
    curve = serializers.SerializerMethodField()
    half_of_all_seeds = serializers.SerializerMethodField(
        help_text="When half of all seeds sown have come, by the curve; null without one."
    )
    replicates = serializers.SerializerMethodField(
        help_text="Null where the pots cannot be held against the tolerance."
    )

    @extend_schema_field(StepSerializer(many=True))
    def get_course(self, row: HistoryRow) -> Any:
        return StepSerializer(self.context["facts"].course, many=True).data

    def get_course_how(self, row: HistoryRow) -> str:
        told: str = self.context["facts"].course_note
        return told

    @extend_schema_field(CurveSerializer(allow_null=True))
    def get_curve(self, row: HistoryRow) -> Any:
        curve = self.context["facts"].curve
        return CurveSerializer(curve).data if curve else None

    @extend_schema_field(TimeToShareSerializer(allow_null=True))
    def get_half_of_all_seeds(self, row: HistoryRow) -> Any:
        half = self.context["facts"].half
        return TimeToShareSerializer(half).data if half else None

    @extend_schema_field(ReplicatesSerializer(allow_null=True))
    def get_replicates(self, row: HistoryRow) -> Any:
        found = self.context["facts"].replicates
        return ReplicatesSerializer(found).data if found else None


class OwnSowingDetailSerializer(SowingDetailSerializer, OwnSowingSerializer):
    """A sowing of one's own, with its free words and all that is reckoned from its counts."""
