"""How readily plants and pairs take, what their capsules hold, and when these open."""

from rest_framework import serializers

from crosses.calc.fertility import PairChance, ParentRate, SeedsPerCapsule
from crosses.queries.cautions import PairCaution
from crosses.queries.fertility import RoleFigures
from crosses.queries.flowers import FlowerRow
from crosses.queries.forecast import Outlook
from crosses.queries.partners import Partner
from seedbank.api.serializers.pieces import ShareSerializer, how


class ParentRateSerializer(serializers.Serializer[ParentRate]):
    """Rate of a plant in one role read beside other plants'; the interval is of 80 %."""

    estimate = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()
    how = how()


class SeedsPerCapsuleSerializer(serializers.Serializer[SeedsPerCapsule]):
    by_capsule = serializers.FloatField(help_text="Weighted mean: every capsule counts alike.")
    by_cross = serializers.FloatField(help_text="Unweighted mean: every cross counts alike.")
    capsules = serializers.IntegerField()
    crosses = serializers.IntegerField()
    how = how()


class RoleSerializer(serializers.Serializer[RoleFigures]):
    """A plant in one role: decided flowers of crosses with one other plant."""

    take = ShareSerializer(source="share")
    rate = ParentRateSerializer()
    none_took = serializers.CharField(
        help_text="Said where no flower took, as a probability; else empty."
    )
    seeds_per_capsule = SeedsPerCapsuleSerializer(source="seeds", allow_null=True)


class PairChanceSerializer(serializers.Serializer[PairChance]):
    """Chance that a flower takes; the interval is of 80 %. A help in choosing, no measurement."""

    chance = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()
    tried = ShareSerializer(help_text="What this very pair did in this direction.")
    how = how()


class OpeningSerializer(serializers.Serializer[Outlook]):
    """When a capsule may split; dates and chance are null where `why_not` says why."""

    why_not = serializers.CharField(help_text="Empty where there is a forecast.")
    split_by_10_on = serializers.DateField(allow_null=True)
    split_by_50_on = serializers.DateField(allow_null=True)
    split_by_90_on = serializers.DateField(allow_null=True)
    look_daily_from = serializers.DateField(allow_null=True)
    chance_by_tomorrow = serializers.FloatField(
        allow_null=True, help_text="That it has split by tomorrow, since it was last seen closed."
    )
    sentence = serializers.CharField()
    how = how("basis")


class FlowerSerializer(serializers.Serializer[FlowerRow]):
    """One pollination of a cross."""

    number = serializers.CharField(source="pollination.number")
    pollinated_on = serializers.DateField(source="pollination.pollinated_on")
    flowers = serializers.IntegerField(source="pollination.flowers")
    state = serializers.CharField(source="pollination.state")
    known = serializers.CharField(source="state.sentence", help_text="What is known of it.")
    opening = OpeningSerializer(source="outlook")


class PairCautionSerializer(serializers.Serializer[PairCaution]):
    words = serializers.CharField()
    where_from = serializers.CharField(source="source", help_text="Where the words come from.")


class PartnerSerializer(serializers.Serializer[Partner]):
    """A plant that might be the other parent; every pair may be made."""

    plant = serializers.CharField(source="plant.number")
    name = serializers.CharField(source="plant.name_text")
    chance = PairChanceSerializer(
        allow_null=True, help_text="Null where a figure would be guesswork; the reasons say why."
    )
    tried = ShareSerializer(help_text="What this very pair did in this direction.")
    offspring_inbreeding = serializers.FloatField(
        help_text="What their seedlings would have by the known pedigree."
    )
    cautions = PairCautionSerializer(many=True)
    reasons = serializers.ListField(
        child=serializers.CharField(), help_text="The grounds of its place in the list."
    )


class PartnersAsked(serializers.Serializer[object]):
    """How partners are asked for."""

    gives_pollen = serializers.BooleanField(default=False)
    own_only = serializers.BooleanField(default=False)
