import datetime

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.countries import COUNTRY_CHOICES
from crosses.base.visibility import Visibility
from crosses.base.withdrawal import Withdrawable


@keep_choices
class Plant(Withdrawable):
    """One genotype in one keeper's hands; a division is a plant of its own, 'propagated from'."""

    class Origin(models.TextChoices):
        CROSS = "cross", "raised from a recorded cross"
        DIVISION = "division", "propagated from another plant"
        WILD = "wild", "collected in the wild"
        GARDEN = "garden", "garden origin"
        BOUGHT = "bought", "bought or given"
        UNKNOWN = "unknown", "unknown"

    class StyleForm(models.TextChoices):
        PIN = "pin", "pin (long style)"
        THRUM = "thrum", "thrum (short style)"
        HOMOSTYLE = "homostyle", "homostyle"

    number = models.CharField(max_length=20, unique=True, editable=False)
    name_text = models.CharField("name as written", max_length=200)
    own_label = models.CharField("your own label", max_length=40, blank=True)
    taxon = models.ForeignKey(
        "crosses.Taxon", null=True, blank=True, on_delete=models.PROTECT, related_name="plants"
    )
    raised_from = models.ForeignKey(
        "crosses.Cross", null=True, blank=True, on_delete=models.PROTECT, related_name="seedlings"
    )
    propagated_from = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="divisions"
    )
    origin = models.CharField(max_length=10, choices=Origin.choices, default=Origin.UNKNOWN)
    wild_where = models.CharField("where it was collected", max_length=200, blank=True)
    wild_country = models.CharField(max_length=2, choices=COUNTRY_CHOICES, blank=True)
    wild_on = models.DateField("when it was collected", null=True, blank=True)
    wild_permit = models.CharField("permit", max_length=120, blank=True)
    keeper = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="plants"
    )
    visibility = models.CharField(
        max_length=8, choices=Visibility.choices, default=Visibility.SOCIETY
    )
    style_form = models.CharField(max_length=10, choices=StyleForm.choices, blank=True)
    ploidy = models.PositiveSmallIntegerField("chromosome sets", null=True, blank=True)
    stated_inbreeding = models.FloatField(
        "stated inbreeding",
        null=True,
        blank=True,
        help_text="For a founder only: 1 for a pure line.",
    )
    fertility_notes = models.TextField(blank=True)
    acquired_on = models.DateField(null=True, blank=True)
    died_on = models.DateField(null=True, blank=True)
    history = HistoricalRecords()

    class Meta(Withdrawable.Meta):
        ordering = ["number"]
        constraints = [
            *Withdrawable.Meta.constraints,
            models.CheckConstraint(condition=~Q(name_text=""), name="plant_has_name"),
            models.CheckConstraint(
                condition=Q(raised_from__isnull=True) | Q(propagated_from__isnull=True),
                name="plant_one_descent",
                violation_error_message="A plant is raised from a cross or propagated from a plant, not both.",
            ),
            models.CheckConstraint(
                condition=Q(propagated_from__isnull=True) | ~Q(propagated_from=F("id")),
                name="plant_not_from_itself",
                violation_error_message="A plant cannot be propagated from itself.",
            ),
            models.CheckConstraint(
                condition=(Q(raised_from__isnull=False) & Q(origin="cross"))
                | (Q(raised_from__isnull=True) & ~Q(origin="cross")),
                name="plant_origin_cross_names_it",
                violation_error_message="A plant raised from a recorded cross names that cross.",
            ),
            models.CheckConstraint(
                condition=(Q(propagated_from__isnull=False) & Q(origin="division"))
                | (Q(propagated_from__isnull=True) & ~Q(origin="division")),
                name="plant_origin_division_names_it",
                violation_error_message="A division names the plant it was taken from.",
            ),
            models.CheckConstraint(
                condition=Q(origin="wild")
                | Q(wild_where="", wild_country="", wild_permit="", wild_on__isnull=True),
                name="plant_wild_facts_only_if_wild",
                violation_error_message="Where, when and permit belong to a plant collected in the wild.",
            ),
            models.CheckConstraint(
                condition=Q(stated_inbreeding__isnull=True)
                | Q(stated_inbreeding__gte=0, stated_inbreeding__lte=1),
                name="plant_inbreeding_is_share",
                violation_error_message="Inbreeding is a share between 0 and 1.",
            ),
            models.CheckConstraint(
                condition=Q(ploidy__isnull=True) | Q(ploidy__gte=1, ploidy__lte=16),
                name="plant_ploidy_sensible",
                violation_error_message="Chromosome sets are between 1 and 16.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name_text}"

    def was_alive_on(self, day: datetime.date) -> bool:
        return self.died_on is None or day <= self.died_on
