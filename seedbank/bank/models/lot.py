from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.countries import COUNTRY_CHOICES
from crosses.base.visibility import Visibility
from crosses.base.withdrawal import Withdrawable


@keep_choices
class Lot(Withdrawable):
    """Seed of one kind, from one harvest or one gift, cleaned and stored together."""

    class Origin(models.TextChoices):
        CONTROLLED = "controlled", "controlled cross"
        GARDEN = "garden", "garden, open pollinated"
        WILD = "wild", "collected in the wild"
        BOUGHT = "bought", "bought"
        UNKNOWN = "unknown", "unknown"

    class SeedCounting(models.TextChoices):
        COUNTED = "counted", "counted"
        SAMPLED = "sampled", "reckoned from weighed samples"
        GUESSED = "guessed", "guessed"
        NOT_YET = "not_yet", "not counted yet"

    number = models.CharField(max_length=20, unique=True, editable=False)
    name_text = models.CharField("name as written", max_length=300)
    harvest = models.ForeignKey(
        "crosses.Harvest", null=True, blank=True, on_delete=models.PROTECT, related_name="lots"
    )
    taxon = models.ForeignKey(
        "crosses.Taxon", null=True, blank=True, on_delete=models.PROTECT, related_name="lots"
    )
    raised_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="lots_raised",
        help_text="Who harvested or collected the seed.",
    )
    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="lots",
        help_text="Empty: the society's bank.",
    )
    origin = models.CharField(max_length=10, choices=Origin.choices, default=Origin.UNKNOWN)
    wild_where = models.CharField("where it was collected", max_length=200, blank=True)
    wild_country = models.CharField(max_length=2, choices=COUNTRY_CHOICES, blank=True)
    wild_permit = models.CharField("permit", max_length=120, blank=True)
    year = models.PositiveSmallIntegerField("year of harvest")
    collected_on = models.DateField(null=True, blank=True)
    cleaned_on = models.DateField(null=True, blank=True)
    drying_note = models.CharField(max_length=200, blank=True)
    seed_counting = models.CharField(
        max_length=8, choices=SeedCounting.choices, default=SeedCounting.NOT_YET
    )
    seeds = models.PositiveIntegerField(null=True, blank=True)
    seeds_low = models.PositiveIntegerField(null=True, blank=True)
    seeds_high = models.PositiveIntegerField(null=True, blank=True)
    thousand_seed_weight_grams = models.FloatField(null=True, blank=True)
    storage_temperature_celsius = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True
    )
    storage_moisture_percent = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True
    )
    storage_humidity_percent = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True
    )
    hazard_note = models.CharField(max_length=300, blank=True)
    note = models.TextField(blank=True)
    visibility = models.CharField(
        max_length=8, choices=Visibility.choices, default=Visibility.SOCIETY
    )
    client_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    history = HistoricalRecords()

    class Meta(Withdrawable.Meta):
        ordering = ["number"]
        permissions = [("keep_bank", "Keep the seed bank: receive, store and list seed")]
        constraints = [
            *Withdrawable.Meta.constraints,
            models.CheckConstraint(condition=~Q(name_text=""), name="lot_has_name"),
            models.CheckConstraint(
                condition=Q(year__gte=1800, year__lte=2200), name="lot_year_sensible"
            ),
            models.CheckConstraint(
                condition=(Q(seed_counting="not_yet") & Q(seeds__isnull=True))
                | (~Q(seed_counting="not_yet") & Q(seeds__isnull=False)),
                name="lot_seeds_if_counted",
                violation_error_message="Give the number of seeds, "
                "or say that they are not counted yet.",
            ),
            models.CheckConstraint(
                condition=Q(seeds_low__isnull=True, seeds_high__isnull=True)
                | Q(seeds_low__lte=F("seeds"), seeds_high__gte=F("seeds")),
                name="lot_interval_holds_estimate",
            ),
            models.CheckConstraint(
                condition=Q(origin="wild") | Q(wild_where="", wild_country="", wild_permit=""),
                name="lot_wild_facts_only_if_wild",
                violation_error_message="Where and permit belong to seed collected in the wild.",
            ),
            models.CheckConstraint(
                condition=(
                    Q(storage_moisture_percent__isnull=True)
                    | Q(storage_moisture_percent__gt=0, storage_moisture_percent__lt=100)
                )
                & (
                    Q(storage_humidity_percent__isnull=True)
                    | Q(storage_humidity_percent__gte=0, storage_humidity_percent__lte=100)
                ),
                name="lot_storage_percent",
                violation_error_message="Moisture and humidity are percentages.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name_text}"
