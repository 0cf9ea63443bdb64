"""Two sowings, or two lots, compared."""

from rest_framework import serializers

from seedbank.api.serializers.pieces import ShareSerializer, how
from seedbank.api.serializers.storage import PooledSerializer
from seedbank.calc.germination import Difference, LogRank, Permuted, RankTest
from seedbank.sowings.queries.comparing import LotsCompared, SowingsCompared


class DifferenceSerializer(serializers.Serializer[Difference]):
    """The second share less the first, as fractions of one, with its 95 % interval."""

    estimate = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()
    how = how()


class LogRankSerializer(serializers.Serializer[LogRank]):
    chi_square = serializers.FloatField(allow_null=True)
    p_value = serializers.FloatField(allow_null=True)
    observed = serializers.IntegerField(help_text="Seedlings of the first sowing.")
    expected = serializers.FloatField(help_text="What it would have had, came both alike.")
    how = how()


class RankTestSerializer(serializers.Serializer[RankTest]):
    sooner = serializers.FloatField(
        help_text="Chance that a seed of the first comes sooner than one of the second."
    )
    z = serializers.FloatField(allow_null=True)
    p_value = serializers.FloatField(allow_null=True)
    how = how()


class PermutedSerializer(serializers.Serializer[Permuted]):
    """Test by dealing pots or sowings out anew."""

    p_value = serializers.FloatField()
    ways = serializers.IntegerField()
    is_exact = serializers.BooleanField(help_text="Whether all ways were gone through.")
    how = how()


class SowingsComparedSerializer(serializers.Serializer[SowingsCompared]):
    first = serializers.CharField(source="first.number")
    second = serializers.CharField(source="second.number")
    first_share = ShareSerializer()
    second_share = ShareSerializer()
    difference = DifferenceSerializer(source="comparison.difference")
    fisher_p_value = serializers.FloatField(
        source="p_value", help_text="Fisher's exact test on the two totals, seed by seed."
    )
    log_rank = LogRankSerializer(
        source="course", allow_null=True, help_text="Null where the days of looking differ."
    )
    log_rank_why_not = serializers.CharField(source="course_note")
    generalised_wilcoxon = RankTestSerializer(source="ranks")
    pots_dealt_out_anew = PermutedSerializer(
        source="pots", allow_null=True, help_text="Null from fewer than three pots a sowing."
    )
    how = how("comparison.sentence")


class LotsComparedSerializer(serializers.Serializer[LotsCompared]):
    first = serializers.CharField(source="first.number")
    second = serializers.CharField(source="second.number")
    first_over_sowings = PooledSerializer(source="apart.comparison.first")
    second_over_sowings = PooledSerializer(source="apart.comparison.second")
    open_sowings = serializers.IntegerField(help_text="Those of which more may still come up.")
    difference = DifferenceSerializer(source="apart.comparison.difference")
    sowings_dealt_out_anew = PermutedSerializer(
        source="apart.permuted",
        allow_null=True,
        help_text="Null from fewer than three sowings a lot.",
    )
    beta_binomial_p_value = serializers.FloatField(
        source="apart.comparison.p_value",
        allow_null=True,
        help_text="Likelihood-ratio test with one scatter between sowings; null as above.",
    )
    fisher_p_value = serializers.FloatField(
        source="apart.fisher_p_value",
        allow_null=True,
        help_text="Only of one sowing each: it tells of the two sowings, not of the lots.",
    )
    how = how("apart.sentence")
