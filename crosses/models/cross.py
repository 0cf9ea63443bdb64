from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.visibility import Visibility
from crosses.base.withdrawal import Withdrawable


@keep_choices
class Cross(Withdrawable):
    """A seed parent and its pollen, in one direction, in one season; seed parent always first."""

    class Pollen(models.TextChoices):
        PLANT = "plant", "one plant"
        MIXED = "mixed", "a mixture of plants"
        SELF = "self", "its own pollen (self)"
        OPEN = "open", "open pollinated"
        UNKNOWN = "unknown", "unknown"
        NONE = "none", "no pollen (a control)"

    number = models.CharField(max_length=20, unique=True, editable=False)
    own_number = models.CharField(
        "your number", max_length=40, help_text="As you write it on the tag."
    )
    grower = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="crosses"
    )
    season = models.PositiveSmallIntegerField("season (year)")
    seed_parent = models.ForeignKey(
        "crosses.Plant", on_delete=models.PROTECT, related_name="crosses_as_seed_parent"
    )
    pollen = models.CharField("pollen", max_length=8, choices=Pollen.choices, default=Pollen.PLANT)
    pollen_parent = models.ForeignKey(
        "crosses.Plant",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="crosses_as_pollen_parent",
    )
    reciprocal_of = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reciprocal"
    )
    aim = models.TextField(blank=True)
    visibility = models.CharField(
        max_length=8, choices=Visibility.choices, default=Visibility.SOCIETY
    )
    client_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    history = HistoricalRecords()

    class Meta(Withdrawable.Meta):
        verbose_name_plural = "crosses"
        ordering = ["-season", "number"]
        constraints = [
            *Withdrawable.Meta.constraints,
            models.UniqueConstraint(
                fields=["grower", "season", "own_number"],
                name="cross_own_number_once",
                violation_error_message="You have used this number for another cross of this season.",
            ),
            models.CheckConstraint(condition=~Q(own_number=""), name="cross_has_own_number"),
            models.CheckConstraint(
                condition=(Q(pollen="plant") & Q(pollen_parent__isnull=False))
                | (~Q(pollen="plant") & Q(pollen_parent__isnull=True)),
                name="cross_pollen_parent_if_one_plant",
                violation_error_message="Name the pollen parent if the pollen came from one plant, and only then.",
            ),
            models.CheckConstraint(
                condition=Q(pollen_parent__isnull=True) | ~Q(pollen_parent=F("seed_parent")),
                name="cross_same_plant_is_self",
                violation_error_message="The same plant on both sides is a selfing: choose 'its own pollen (self)'.",
            ),
            models.CheckConstraint(
                condition=Q(season__gte=1800, season__lte=2200), name="cross_season_sensible"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} ({self.own_number})"


class PollenShare(models.Model):
    """One plant of a pollen mixture, and the part of the mixture it is thought to be."""

    cross = models.ForeignKey(Cross, on_delete=models.CASCADE, related_name="pollen_shares")
    plant = models.ForeignKey(
        "crosses.Plant", on_delete=models.PROTECT, related_name="pollen_shares"
    )
    parts = models.PositiveSmallIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["cross", "plant"], name="pollen_share_plant_once"),
            models.CheckConstraint(
                condition=Q(parts__gte=1), name="pollen_share_at_least_one_part"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.parts} parts of {self.plant_id}"
