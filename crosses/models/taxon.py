from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.countries import COUNTRY_CHOICES


@keep_choices
class Taxon(models.Model):
    """A genus, species or lower taxon, with what the society knows of its seed."""

    class Storage(models.TextChoices):
        ORTHODOX = "orthodox", "orthodox (dry and cold keeps it)"
        INTERMEDIATE = "intermediate", "intermediate"
        RECALCITRANT = "recalcitrant", "recalcitrant (dies when dried)"
        UNKNOWN = "unknown", "unknown"

    genus = models.CharField(max_length=60)
    species = models.CharField("species epithet", max_length=60, blank=True)
    infraspecific_rank = models.CharField(
        max_length=12,
        blank=True,
        choices=[
            ("subsp.", "subspecies"),
            ("var.", "variety"),
            ("f.", "form"),
            ("nothosubsp.", "nothosubspecies"),
        ],
    )
    infraspecific_epithet = models.CharField(max_length=60, blank=True)
    is_hybrid = models.BooleanField("named hybrid (nothotaxon)", default=False)
    authorship = models.CharField(max_length=120, blank=True)
    common_name = models.CharField(max_length=120, blank=True)
    storage_behaviour = models.CharField(
        max_length=14, choices=Storage.choices, default=Storage.UNKNOWN
    )
    ploidy = models.PositiveSmallIntegerField("chromosome sets", null=True, blank=True)
    ripe_low_days = models.PositiveSmallIntegerField("days to ripe, low", null=True, blank=True)
    ripe_high_days = models.PositiveSmallIntegerField("days to ripe, high", null=True, blank=True)
    ripe_source = models.CharField("where the window comes from", max_length=200, blank=True)
    hazard_note = models.CharField(max_length=300, blank=True)
    sowing_advice = models.TextField(blank=True)
    history = HistoricalRecords()

    class Meta:
        verbose_name_plural = "taxa"
        ordering = ["genus", "species", "infraspecific_epithet"]
        constraints = [
            models.UniqueConstraint(
                fields=[
                    "genus",
                    "species",
                    "infraspecific_rank",
                    "infraspecific_epithet",
                    "is_hybrid",
                ],
                name="taxon_named_once",
                violation_error_message="This taxon is in the list already.",
            ),
            models.CheckConstraint(condition=~Q(genus=""), name="taxon_has_genus"),
            models.CheckConstraint(
                condition=Q(infraspecific_rank="", infraspecific_epithet="")
                | (~Q(infraspecific_rank="") & ~Q(infraspecific_epithet="") & ~Q(species="")),
                name="taxon_infraspecific_whole",
                violation_error_message="A subspecies or variety needs its rank, its epithet and a species.",
            ),
            models.CheckConstraint(
                condition=Q(ripe_low_days__isnull=True, ripe_high_days__isnull=True)
                | Q(ripe_low_days__gte=1, ripe_high_days__gt=F("ripe_low_days")),
                name="taxon_ripe_window_ordered",
                violation_error_message="Days to ripe: the low end comes first, and both ends are needed.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def name(self) -> str:
        """The written name without authorship."""
        sign = "×" if self.is_hybrid else ""
        parts = [f"{self.genus} {sign}{self.species}" if self.species else f"{sign}{self.genus}"]
        if self.infraspecific_epithet:
            parts.append(f"{self.infraspecific_rank} {self.infraspecific_epithet}")
        return " ".join(parts)


@keep_choices
class DestinationFlag(models.Model):
    """What a destination is known to ask of a taxon or a whole genus: data the society edits."""

    class Kind(models.TextChoices):
        BARRED = "barred", "may not be sent there"
        PROTECTED = "protected", "protected species"
        QUARANTINE = "quarantine", "plant-health rule"

    genus = models.CharField(max_length=60)
    taxon = models.ForeignKey(
        Taxon, null=True, blank=True, on_delete=models.CASCADE, help_text="Empty: the whole genus."
    )
    country = models.CharField(
        max_length=2, choices=COUNTRY_CHOICES, blank=True, help_text="Empty: everywhere."
    )
    kind = models.CharField(max_length=10, choices=Kind.choices)
    words = models.CharField(max_length=300)
    source = models.CharField(max_length=300)
    checked_on = models.DateField()
    checked_by = models.CharField(max_length=100)
    history = HistoricalRecords()

    class Meta:
        ordering = ["genus", "country"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(source="") & ~Q(words=""),
                name="destination_flag_has_source",
                violation_error_message="A rule needs its words and its source.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.genus} to {self.country or 'anywhere'}: {self.get_kind_display()}"
