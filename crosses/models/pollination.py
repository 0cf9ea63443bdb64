from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.withdrawal import Withdrawable


class PollenState(models.TextChoices):
    FRESH = "fresh", "fresh"
    STORED = "stored", "stored"


@keep_choices
class Pollination(Withdrawable):
    """One flower, or several flowers treated alike, on one day."""

    class Tool(models.TextChoices):
        PICK = "pick", "toothpick"
        BRUSH = "brush", "brush"
        ANTHER = "anther", "the anther itself"
        FINGER = "finger", "fingertip"
        OTHER = "other", "other"

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        TAKEN = "taken", "taken"
        FAILED = "failed", "did not take"
        RIPE = "ripe", "ripe: harvest now"
        HARVESTED = "harvested", "harvested"
        LOST = "lost", "lost"
        # A visit to the flower, and no pollination.
        NO_POLLEN = "no_pollen", "no pollen was found"

    # On the tag, so that a scan leads to this flower and not only to its cross.
    number = models.CharField(max_length=20, unique=True, editable=False)
    cross = models.ForeignKey(
        "crosses.Cross", on_delete=models.PROTECT, related_name="pollinations"
    )
    pollinated_on = models.DateField()
    pollinated_time = models.TimeField(null=True, blank=True)
    flowers = models.PositiveSmallIntegerField(default=1)
    tool = models.CharField(max_length=8, choices=Tool.choices, default=Tool.PICK)
    pollen_state = models.CharField(
        max_length=8, choices=PollenState.choices, default=PollenState.FRESH
    )
    pollen_stored_how = models.CharField(max_length=100, blank=True)
    pollen_stored_days = models.PositiveSmallIntegerField(null=True, blank=True)
    pollen_seen = models.BooleanField("pollen was found", default=True)
    is_bagged = models.BooleanField("bagged", default=False)
    is_emasculated = models.BooleanField("emasculated", default=False)
    air_temperature_celsius = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True
    )
    note = models.TextField(blank=True)
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    logged_at = models.DateTimeField()
    client_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    # What the checks and harvests add up to; written by actions.capsule.reckon_state alone.
    state = models.CharField(
        max_length=10, choices=State.choices, default=State.WAITING, editable=False
    )
    capsules_set = models.PositiveSmallIntegerField(default=0, editable=False)
    capsules_harvested = models.PositiveSmallIntegerField(default=0, editable=False)
    history = HistoricalRecords()

    class Meta(Withdrawable.Meta):
        ordering = ["-pollinated_on", "-id"]
        indexes = [models.Index(fields=["state", "pollinated_on"])]
        constraints = [
            *Withdrawable.Meta.constraints,
            models.CheckConstraint(
                condition=Q(flowers__gte=1),
                name="pollination_has_flower",
                violation_error_message="A pollination is of one flower or more.",
            ),
            models.CheckConstraint(
                condition=Q(pollen_state="stored")
                | Q(pollen_stored_how="", pollen_stored_days__isnull=True),
                name="pollination_storage_only_if_stored",
                violation_error_message="How and how long pollen was stored belongs to stored pollen.",
            ),
            models.CheckConstraint(
                condition=Q(capsules_harvested__lte=F("flowers"))
                & Q(capsules_set__lte=F("flowers")),
                name="pollination_capsules_within_flowers",
                violation_error_message="There cannot be more capsules than flowers.",
            ),
            models.CheckConstraint(
                condition=Q(air_temperature_celsius__isnull=True)
                | Q(air_temperature_celsius__gte=-30, air_temperature_celsius__lte=60),
                name="pollination_temperature_sensible",
                violation_error_message="Air temperature is in degrees Celsius, between -30 and 60.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} on {self.pollinated_on}"


# Of these nobody can say whether they took: they wait, or there was no pollination.
UNDECIDED = (Pollination.State.WAITING, Pollination.State.NO_POLLEN)


@keep_choices
class TouchUp(models.Model):
    """A second load of pollen on the same flower: one flower, two applications."""

    pollination = models.ForeignKey(Pollination, on_delete=models.PROTECT, related_name="touch_ups")
    done_on = models.DateField()
    pollen_state = models.CharField(
        max_length=8, choices=PollenState.choices, default=PollenState.FRESH
    )
    note = models.CharField(max_length=200, blank=True)
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    logged_at = models.DateTimeField()
    client_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)

    class Meta:
        ordering = ["done_on", "id"]

    def __str__(self) -> str:
        return f"touch-up on {self.done_on}"
