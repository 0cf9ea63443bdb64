from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.withdrawal import Withdrawable


@keep_choices
class Harvest(Withdrawable):
    """Capsules of one cross taken on one day, and the seed that was in them."""

    class SeedCounting(models.TextChoices):
        COUNTED = "counted", "counted"
        SAMPLED = "sampled", "reckoned from weighed samples"
        GUESSED = "guessed", "guessed"
        NOT_YET = "not_yet", "not counted yet"

    class IdentifiedBy(models.TextChoices):
        TAG = "tag", "the tag on the flower"
        PLACE_AND_DATE = "place_and_date", "place and date (the tag was blank or gone)"

    number = models.CharField(max_length=20, unique=True, editable=False)
    cross = models.ForeignKey("crosses.Cross", on_delete=models.PROTECT, related_name="harvests")
    harvested_on = models.DateField()
    was_forced = models.BooleanField("cut before it was ripe", default=False)
    identified_by = models.CharField(
        max_length=16, choices=IdentifiedBy.choices, default=IdentifiedBy.TAG
    )
    certainty_percent = models.PositiveSmallIntegerField(
        "certainty of the parents, percent", default=100
    )
    seed_counting = models.CharField(
        max_length=8, choices=SeedCounting.choices, default=SeedCounting.COUNTED
    )
    seeds = models.PositiveIntegerField(null=True, blank=True)
    seeds_low = models.PositiveIntegerField(null=True, blank=True)
    seeds_high = models.PositiveIntegerField(null=True, blank=True)
    seeds_standard_error = models.FloatField(null=True, blank=True)
    clean_grams = models.DecimalField(
        "clean seed, grams", max_digits=9, decimal_places=4, null=True, blank=True
    )
    thousand_seed_weight_grams = models.FloatField(null=True, blank=True)
    note = models.TextField(blank=True)
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    logged_at = models.DateTimeField()
    client_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    history = HistoricalRecords()

    class Meta(Withdrawable.Meta):
        ordering = ["-harvested_on", "-id"]
        constraints = [
            *Withdrawable.Meta.constraints,
            models.CheckConstraint(
                condition=Q(certainty_percent__lte=100),
                name="harvest_certainty_is_percent",
                violation_error_message="Certainty is between 0 and 100 percent.",
            ),
            models.CheckConstraint(
                condition=(Q(seed_counting="not_yet") & Q(seeds__isnull=True))
                | (~Q(seed_counting="not_yet") & Q(seeds__isnull=False)),
                name="harvest_seeds_if_counted",
                violation_error_message="Give the number of seeds, or say that they are not counted yet.",
            ),
            models.CheckConstraint(
                condition=Q(seeds_low__isnull=True, seeds_high__isnull=True)
                | Q(seeds_low__lte=F("seeds"), seeds_high__gte=F("seeds")),
                name="harvest_interval_holds_estimate",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} on {self.harvested_on}"


class HarvestedPollination(models.Model):
    """How many capsules of which pollination went into a harvest."""

    harvest = models.ForeignKey(Harvest, on_delete=models.CASCADE, related_name="pollinations")
    pollination = models.ForeignKey(
        "crosses.Pollination", on_delete=models.PROTECT, related_name="harvests"
    )
    capsules = models.PositiveSmallIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["harvest", "pollination"], name="harvest_pollination_once"
            ),
            models.CheckConstraint(
                condition=Q(capsules__gte=1),
                name="harvest_has_capsule",
                violation_error_message="A harvest is of one capsule or more.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.capsules} capsules of {self.pollination_id}"


class SeedSample(models.Model):
    """A counted and weighed sample from which a harvest's seed number was reckoned."""

    harvest = models.ForeignKey(Harvest, on_delete=models.CASCADE, related_name="samples")
    seeds = models.PositiveIntegerField()
    grams = models.DecimalField(max_digits=9, decimal_places=4)
    history = HistoricalRecords()

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(seeds__gte=1, grams__gt=0),
                name="seed_sample_weighs_something",
                violation_error_message="A sample has seeds and a weight.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.seeds} seeds in {self.grams} g"
