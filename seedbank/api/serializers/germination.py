"""Germination history, a row a sowing, and its groups."""

from rest_framework import serializers

from seedbank.api.serializers.facts import ToldFacts
from seedbank.api.serializers.pieces import NamedPlantSerializer, ShareSerializer
from seedbank.calc.germination import CourseStep
from seedbank.sowings.facts import SOWING
from seedbank.sowings.models import Pretreatment
from seedbank.sowings.queries.history import HistoryRow
from seedbank.sowings.queries.summary import MOST_TO_POOL, PooledGroup


class LookSerializer(serializers.Serializer[object]):
    day = serializers.IntegerField(help_text="Days after sowing.")
    counted_on = serializers.DateField()
    newly_seen = serializers.IntegerField()
    total = serializers.IntegerField()


class PretreatmentSerializer(serializers.ModelSerializer[Pretreatment]):
    days = serializers.FloatField(allow_null=True, min_value=0, required=False)
    temperature_celsius = serializers.FloatField(
        allow_null=True, min_value=-40, max_value=60, required=False
    )

    class Meta:
        model = Pretreatment
        fields = ["kind", "days", "temperature_celsius", "concentration_ppm", "note"]


class HowSerializer(serializers.Serializer[object]):
    """How each number of the row was computed."""

    parents = serializers.CharField()
    seed_age = serializers.CharField()
    looks = serializers.CharField()
    share = serializers.CharField()
    mean_germination_time = serializers.CharField()
    median_time = serializers.CharField()


def _of_indices(name: str) -> serializers.FloatField:
    return serializers.FloatField(source=f"indices.{name}", allow_null=True, default=None)


class GerminationSerializer(serializers.Serializer[HistoryRow]):
    sowing = serializers.CharField(source="sowing.number")
    name = serializers.CharField(source="lot.name_text")
    taxon = serializers.CharField(source="lot.taxon.name", allow_null=True, default=None)
    genus = serializers.CharField()
    cross = serializers.CharField(source="parentage.cross", allow_null=True, default=None)
    formula = serializers.CharField(
        source="parentage.formula",
        allow_null=True,
        default=None,
        help_text="Seed parent first; null where no cross is recorded.",
    )
    seed_parent = NamedPlantSerializer(
        source="parentage.seed_parent", allow_null=True, default=None
    )
    pollen = serializers.CharField(source="parentage.pollen", allow_null=True, default=None)
    pollen_parents = NamedPlantSerializer(source="parentage.pollen_parents", many=True, default=())
    parents_certainty_percent = serializers.IntegerField(allow_null=True)
    lot = serializers.CharField(source="lot.number")
    packet = serializers.CharField(source="sowing.packet.number")
    origin = serializers.CharField(source="lot.origin")
    harvest_year = serializers.IntegerField(source="lot.year")
    harvested_on = serializers.DateField(source="lot.collected_on", allow_null=True)
    sown_on = serializers.DateField(source="sowing.sown_on")
    seed_age_days_low = serializers.IntegerField(source="seed_age.days_low")
    seed_age_days_high = serializers.IntegerField(source="seed_age.days_high")
    grower = serializers.CharField(
        source="grower_code", allow_null=True, help_text="The donor's code; never a name."
    )
    is_mine = serializers.BooleanField()
    purpose = serializers.CharField(source="sowing.purpose")
    medium = serializers.CharField(source="sowing.medium")
    light = serializers.CharField(source="sowing.light")
    temperature_low_celsius = serializers.FloatField(
        source="sowing.temperature_low_celsius", allow_null=True
    )
    temperature_high_celsius = serializers.FloatField(
        source="sowing.temperature_high_celsius", allow_null=True
    )
    pretreatments = PretreatmentSerializer(source="sowing.pretreatments", many=True)
    seeds = serializers.IntegerField(source="sowing.seeds_sown")
    seeds_looked_at = serializers.IntegerField(
        source="share.n",
        allow_null=True,
        default=None,
        help_text="Those of the pots that somebody has looked at: the shares are of these.",
    )
    pots = serializers.IntegerField()
    looks = LookSerializer(many=True)
    germinated = serializers.IntegerField(
        source="share.x", allow_null=True, default=None, help_text="Null where nobody has looked."
    )
    share = ShareSerializer(allow_null=True)
    mean_germination_time_days = _of_indices("mean_germination_time_days")
    mean_germination_time_lower_days = _of_indices("mean_germination_time_lower_days")
    mean_germination_time_standard_error_days = _of_indices("standard_error_days")
    median_time_coolbear_days = _of_indices("median_time_coolbear_days")
    median_time_farooq_days = _of_indices("median_time_farooq_days")
    median_time_of_all_sown_days = _of_indices("median_time_of_all_sown_days")
    first_day = _of_indices("first_day")
    last_day = _of_indices("last_day")
    is_open = serializers.SerializerMethodField(help_text="More may still come up.")
    closed_on = serializers.DateField(source="sowing.closed_on", allow_null=True)
    left_fresh = serializers.IntegerField(source="sowing.left_fresh", allow_null=True)
    left_dead = serializers.IntegerField(source="sowing.left_dead", allow_null=True)
    left_abnormal = serializers.IntegerField(source="sowing.left_abnormal", allow_null=True)
    how = HowSerializer()

    def get_is_open(self, row: HistoryRow) -> bool:
        return row.sowing.closed_on is None


class OwnSowingSerializer(ToldFacts, GerminationSerializer):
    """A sowing of one's own: with the free words that nobody else is told."""

    declared = SOWING
    facts_at = "sowing"
    facts_after = "sowing"


class CourseStepSerializer(serializers.Serializer[CourseStep]):
    day = serializers.FloatField(help_text="Days after sowing.")
    share = serializers.FloatField(help_text="Of all seeds sown that had come by this day.")
    share_low = serializers.FloatField(source="low")
    share_high = serializers.FloatField(source="high")
    seeds_known = serializers.IntegerField(
        source="known", help_text="Seeds of which it was known that day whether they had come."
    )


class GroupSerializer(serializers.Serializer[PooledGroup]):
    """Sowings of a kind taken together; shares are fractions of one."""

    keys = serializers.SerializerMethodField(help_text="What the group has in common, by name.")
    sowings = serializers.IntegerField(source="pooled.sowings")
    open_sowings = serializers.IntegerField(
        source="group.open_sowings", help_text="Those of which more may still come up."
    )
    growers = serializers.IntegerField(source="group.growers")
    seeds = serializers.IntegerField(source="pooled.sown")
    germinated = serializers.IntegerField(source="pooled.came")
    mean = serializers.FloatField(source="pooled.mean")
    mean_low = serializers.FloatField(source="pooled.mean_low")
    mean_high = serializers.FloatField(source="pooled.mean_high")
    next_sowing_low = serializers.FloatField(source="pooled.next_low")
    next_sowing_high = serializers.FloatField(source="pooled.next_high")
    correlation_within_sowing = serializers.FloatField(source="pooled.rho")
    confidence = serializers.FloatField(source="pooled.confidence")
    basis = serializers.CharField(source="pooled.basis")
    how = serializers.CharField(source="pooled.sentence")
    median_time_after_days = serializers.FloatField(
        source="course.half_after_day",
        allow_null=True,
        default=None,
        help_text="Half of what came had come after this day ...",
    )
    median_time_by_days = serializers.FloatField(
        source="course.half_by_day",
        allow_null=True,
        default=None,
        help_text="... and by this one; nobody looked between. Null where nothing came.",
    )
    how_times = serializers.SerializerMethodField()

    def get_keys(self, found: PooledGroup) -> dict[str, str | int | None]:
        return dict(zip(self.context["group_by"], found.group.keys, strict=True))

    def get_how_times(self, found: PooledGroup) -> str:
        if found.course is None:
            return f"Too many looks to pool ({MOST_TO_POOL} sowings at most): narrow the question."
        return found.course.sentence


class CourseSerializer(GroupSerializer):
    """A group with its whole course."""

    course = CourseStepSerializer(
        source="course.steps",
        many=True,
        default=(),
        help_text="By each day by which the share has risen; nothing is assumed between.",
    )
    design_effect = serializers.FloatField(
        source="course.design_effect",
        allow_null=True,
        default=None,
        help_text="By how much fewer seeds the intervals count on: seeds of one sowing are alike.",
    )


class GroupsSerializer(serializers.Serializer[object]):
    group_by = serializers.ListField(child=serializers.CharField())
    sowings_not_looked_at = serializers.IntegerField(
        help_text="Sowings among those asked for that nobody has looked at; they are in no group."
    )
    groups = serializers.IntegerField(help_text="How many groups there are in all.")
    next = serializers.URLField(allow_null=True)
    previous = serializers.URLField(allow_null=True)


class SummarySerializer(GroupsSerializer):
    results = GroupSerializer(many=True)


class CoursesSerializer(GroupsSerializer):
    results = CourseSerializer(many=True)
