"""Parts that several answers have in common."""

from rest_framework import serializers

from crosses.calc.rates import Share, sentence, whole_percent

METHODS = {
    "wilson": "the score interval (Wilson)",
    "exact": "the exact interval (Clopper and Pearson)",
    "pooled": "an interval that allows for scatter between sowings (beta-binomial)",
}


def how(source: str = "sentence") -> serializers.CharField:
    """Return the field with the sentence that says how the numbers beside it were computed."""
    # The library refuses a source that is the field's own name.
    return serializers.CharField(
        source=None if source == "how" else source, help_text="How it was computed."
    )


class IntervalSerializer(serializers.Serializer[object]):
    """An estimate with the ends of its interval."""

    value = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()


class ShareSerializer(serializers.Serializer[Share]):
    """A share with the numbers behind it and its interval; all shares are fractions of one."""

    x = serializers.IntegerField(help_text="How many did.")
    n = serializers.IntegerField(help_text="Of how many.")
    estimate = serializers.FloatField(allow_null=True)
    low = serializers.FloatField()
    high = serializers.FloatField()
    confidence = serializers.FloatField()
    how = serializers.SerializerMethodField()

    def get_how(self, share: Share) -> str:
        if share.estimate is None:
            return "Nothing tried yet, so any share is possible."
        counted = sentence(share)
        if share.method == "pooled":
            # The mean over sowings is not what all seeds together would give.
            counted = (
                f"{whole_percent(share.estimate)} % on average over sowings"
                f" ({whole_percent(share.low)}-{whole_percent(share.high)} %),"
                f" {share.x} of {share.n} seeds in all"
            )
        return f"{counted}, with {METHODS[share.method]}."


class NamedPlantSerializer(serializers.Serializer[object]):
    name = serializers.CharField(source="name_text")
    number = serializers.CharField(
        allow_null=True, help_text="Null where the plant is not yours to see."
    )
    part = serializers.CharField(help_text="Part of the pollen mixture: 1, or 1/3.")
