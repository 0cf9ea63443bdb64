"""What to expect of a stored lot, how many seeds it has, and into how many packets they go."""

from rest_framework import serializers

from seedbank.api.serializers.pieces import IntervalSerializer, how
from seedbank.bank.models import Lot
from seedbank.bank.queries import seeds_in_words
from seedbank.calc.germination import Pooled
from seedbank.calc.packetplan import PacketPlan
from seedbank.calc.viability.outlook import ByDate, Outlook
from seedbank.sowings.queries.lots import LotGermination


class PooledSerializer(serializers.Serializer[Pooled]):
    """All sowings of a lot together; both intervals allow for the scatter between sowings."""

    mean = serializers.FloatField()
    mean_low = serializers.FloatField()
    mean_high = serializers.FloatField()
    next_sowing_low = serializers.FloatField(source="next_low")
    next_sowing_high = serializers.FloatField(source="next_high")
    correlation_within_sowing = serializers.FloatField(source="rho")
    sowings = serializers.IntegerField()
    seeds = serializers.IntegerField(source="sown")
    germinated = serializers.IntegerField(source="came")
    confidence = serializers.FloatField()
    how = how()


class SeedsToSowSerializer(serializers.Serializer[LotGermination]):
    """How many seeds to sow for a few seedlings."""

    seeds = serializers.IntegerField(source="advice.seeds")
    chance = serializers.FloatField(source="advice.chance")
    how = serializers.SerializerMethodField()

    def get_how(self, found: LotGermination) -> str:
        said = found.advice.sentence if found.advice else ""
        return f"{said} {found.advice_basis.capitalize()}."


class ByDateSerializer(serializers.Serializer[ByDate]):
    """A day with its 95 % interval; null is later than a hundred years after storage began."""

    expected = serializers.DateField(allow_null=True)
    earliest = serializers.DateField(allow_null=True)
    latest = serializers.DateField(allow_null=True)


class ThumbRuleSerializer(serializers.Serializer[object]):
    times = serializers.FloatField(help_text="How many times longer than in a lived-in room.")
    how = how("basis")


class StorageSerializer(serializers.Serializer[Outlook]):
    """How long a lot keeps."""

    method = serializers.CharField(
        help_text="own tests, published constants, last test or nothing."
    )
    germination = IntervalSerializer(
        source="share",
        allow_null=True,
        help_text="Share expected today, or as last tested where nothing can be predicted.",
    )
    sow_by = ByDateSerializer(allow_null=True, help_text="When half is expected to be left.")
    regenerate_by = ByDateSerializer(
        allow_null=True, help_text="When 85 % of the first viability is left."
    )
    next_test_on = serializers.DateField()
    thumb_rule = ThumbRuleSerializer(allow_null=True)
    warnings = serializers.ListField(child=serializers.CharField())
    how = how("basis")


class SeedNumberSerializer(serializers.Serializer[Lot]):
    seeds = serializers.IntegerField(allow_null=True, help_text="Null where nobody has counted.")
    low = serializers.IntegerField(source="seeds_low", allow_null=True)
    high = serializers.IntegerField(source="seeds_high", allow_null=True)
    counting = serializers.CharField(source="seed_counting")
    how = serializers.SerializerMethodField()

    def get_how(self, lot: Lot) -> str:
        return seeds_in_words(lot)


class PacketPlanSerializer(serializers.Serializer[PacketPlan]):
    """Packets that a counted lot fills of which none is made yet."""

    packets = serializers.IntegerField()
    seeds_per_packet = serializers.IntegerField()
    kept_by_grower = serializers.IntegerField(source="own")
    reserve = serializers.IntegerField()
    left_over = serializers.IntegerField(source="leftover")
    how = serializers.SerializerMethodField()

    def get_how(self, plan: PacketPlan) -> str:
        return (
            f"Of {plan.seeds} seeds, an estimate taken at its lower end: the grower's share and the"
            f" reserve come off first, the rest goes into packets of {plan.seeds_per_packet}."
        )
