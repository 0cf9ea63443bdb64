"""Sowings, what was done to the seed before, and what was counted after."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.visibility import Visibility
from crosses.base.withdrawal import Withdrawable


@keep_choices
class Sowing(Withdrawable):
    """Seed of one packet sown on one day under one set of conditions."""

    class Light(models.TextChoices):
        LIGHT = "light", "light"
        DARK = "dark", "dark"
        UNSAID = "", "not said"

    class Purpose(models.TextChoices):
        GROW = "grow", "to grow on"
        TEST = "test", "a germination test"

    number = models.CharField(max_length=20, unique=True, editable=False)
    packet = models.ForeignKey("bank.Packet", on_delete=models.PROTECT, related_name="sowings")
    grower = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="sowings"
    )
    sown_on = models.DateField()
    seeds_sown = models.PositiveIntegerField()
    purpose = models.CharField(max_length=5, choices=Purpose.choices, default=Purpose.GROW)
    medium = models.CharField(max_length=100, blank=True)
    light = models.CharField(max_length=5, choices=Light.choices, default=Light.UNSAID, blank=True)
    where = models.CharField("where it stands", max_length=100, blank=True)
    temperature_low_celsius = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True
    )
    temperature_high_celsius = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True
    )
    visibility = models.CharField(
        max_length=8, choices=Visibility.choices, default=Visibility.SOCIETY
    )
    note = models.TextField(blank=True)
    # Told without signing in, by whoever had the packing slip with its code in hand.
    is_recipients_report = models.BooleanField(
        "told by the recipient through the slip's code", default=False, editable=False
    )
    closed_on = models.DateField(null=True, blank=True)
    closed_reason = models.CharField(max_length=200, blank=True)
    left_fresh = models.PositiveIntegerField("left: fresh", null=True, blank=True)
    left_dead = models.PositiveIntegerField("left: dead", null=True, blank=True)
    left_abnormal = models.PositiveIntegerField("left: abnormal", null=True, blank=True)
    logged_at = models.DateTimeField()
    client_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    history = HistoricalRecords()

    class Meta(Withdrawable.Meta):
        ordering = ["-sown_on", "-id"]
        constraints = [
            *Withdrawable.Meta.constraints,
            models.CheckConstraint(
                condition=Q(seeds_sown__gte=1),
                name="sowing_of_a_seed",
                violation_error_message="A sowing is of one seed or more.",
            ),
            models.CheckConstraint(
                condition=Q(temperature_low_celsius__isnull=True)
                | Q(temperature_high_celsius__isnull=True)
                | Q(temperature_high_celsius__gte=F("temperature_low_celsius")),
                name="sowing_temperatures_ordered",
                violation_error_message="The higher temperature is below the lower one.",
            ),
            models.CheckConstraint(
                condition=Q(closed_on__isnull=True) | Q(closed_on__gte=F("sown_on")),
                name="sowing_closed_after_sown",
                violation_error_message="A sowing cannot be closed before it was sown.",
            ),
            models.CheckConstraint(
                condition=Q(closed_on__isnull=False)
                | Q(
                    left_fresh__isnull=True,
                    left_dead__isnull=True,
                    left_abnormal__isnull=True,
                    closed_reason="",
                ),
                name="sowing_left_only_if_closed",
                violation_error_message="What was left is recorded when the sowing is closed.",
            ),
        ]

    def __str__(self) -> str:
        return self.number


@keep_choices
class Pretreatment(models.Model):
    """One step of what was done to the seed, in order."""

    class Kind(models.TextChoices):
        COLD = "cold", "cold and moist"
        WARM = "warm", "warm and moist"
        GIBBERELLIC_ACID = "gibberellic_acid", "gibberellic acid"
        SMOKE = "smoke", "smoke"
        SCARIFIED = "scarified", "scarified"
        SOAKED = "soaked", "soaked"
        DRIED = "dried", "dried"
        STERILISED = "sterilised", "surface sterilised"
        OTHER = "other", "other"

    sowing = models.ForeignKey(Sowing, on_delete=models.CASCADE, related_name="pretreatments")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=18, choices=Kind.choices)
    days = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    temperature_celsius = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    concentration_ppm = models.PositiveIntegerField("concentration, ppm", null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["sowing", "position"]
        constraints = [
            models.UniqueConstraint(
                fields=["sowing", "position"], name="pretreatment_position_once"
            ),
            models.CheckConstraint(
                condition=Q(concentration_ppm__isnull=True)
                | Q(kind="gibberellic_acid")
                | Q(kind="other"),
                name="pretreatment_ppm_of_a_chemical",
                violation_error_message="A concentration belongs to gibberellic acid.",
            ),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()


class Replicate(models.Model):
    """One pot or dish of a sowing; most sowings have one."""

    sowing = models.ForeignKey(Sowing, on_delete=models.CASCADE, related_name="replicates")
    position = models.PositiveSmallIntegerField()
    seeds = models.PositiveIntegerField()
    # The running total of its counts; the check on it is what stops two people counting at once.
    germinated = models.PositiveIntegerField(default=0, editable=False)

    class Meta:
        ordering = ["sowing", "position"]
        constraints = [
            models.UniqueConstraint(fields=["sowing", "position"], name="replicate_position_once"),
            models.CheckConstraint(condition=Q(seeds__gte=1), name="replicate_has_seed"),
            models.CheckConstraint(
                condition=Q(germinated__lte=F("seeds")),
                name="replicate_never_more_than_sown",
                violation_error_message="More seedlings than seeds were sown.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sowing_id}/{self.position}"


@keep_choices
class Count(Withdrawable):
    """Seedlings newly seen in one pot on one day; a look that finds nothing new is a count of 0."""

    class TypedAs(models.TextChoices):
        NEW = "new", "new since the last look"
        TOTAL = "total", "all so far"

    replicate = models.ForeignKey(Replicate, on_delete=models.PROTECT, related_name="counts")
    counted_on = models.DateField()
    newly_seen = models.PositiveIntegerField()
    typed_as = models.CharField(max_length=5, choices=TypedAs.choices)
    typed_number = models.PositiveIntegerField()
    note = models.CharField(max_length=200, blank=True)
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    logged_at = models.DateTimeField()
    client_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    history = HistoricalRecords()

    class Meta(Withdrawable.Meta):
        ordering = ["replicate", "counted_on"]
        constraints = [
            *Withdrawable.Meta.constraints,
            models.UniqueConstraint(
                fields=["replicate", "counted_on"],
                condition=Q(withdrawn_at__isnull=True),
                name="count_once_a_day",
                violation_error_message="This pot has a count for that day already.",
            ),
            models.CheckConstraint(
                condition=(Q(typed_as="new") & Q(typed_number=F("newly_seen")))
                | (Q(typed_as="total") & Q(typed_number__gte=F("newly_seen"))),
                name="count_typed_agrees",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.newly_seen} on {self.counted_on}"


class Seedling(models.Model):
    """A plant kept from a sowing; its parents are those of the lot's cross."""

    sowing = models.ForeignKey(Sowing, on_delete=models.PROTECT, related_name="seedlings")
    plant = models.OneToOneField("crosses.Plant", on_delete=models.PROTECT, related_name="seedling")
    pricked_out_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["sowing", "id"]

    def __str__(self) -> str:
        return f"plant {self.plant_id} from {self.sowing_id}"
