from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.countries import COUNTRY_CHOICES
from crosses.base.version import Versioned


@keep_choices
class CustomsWords(Versioned):
    """The form of words that a destination's customs and plant health service look for."""

    class Ticked(models.TextChoices):
        GIFT = "gift", "gift"
        SAMPLE = "sample", "commercial sample"
        OTHER = "other", "other"

    country = models.CharField(
        max_length=2,
        choices=COUNTRY_CHOICES,
        blank=True,
        unique=True,
        help_text="Empty: every country that has no words of its own.",
    )
    contents = models.CharField(
        max_length=200, help_text="{packets} stands for how many: {packets} packets of seeds."
    )
    ticked = models.CharField("box ticked", max_length=8, choices=Ticked.choices)
    tariff_number = models.CharField(max_length=12, blank=True)
    statement = models.TextField(
        blank=True, help_text="What the small-lots rule wants said of the seed, under the list."
    )
    value_per_packet = models.DecimalField(max_digits=7, decimal_places=2)
    currency = models.CharField(max_length=3, help_text="Three letters: GBP, EUR.")
    source = models.CharField(max_length=300)
    checked_on = models.DateField("read on")
    checked_by = models.CharField("read by", max_length=120)
    history = HistoricalRecords()

    class Meta:
        ordering = ["country"]
        verbose_name_plural = "customs words"
        constraints = [
            models.CheckConstraint(
                condition=~Q(contents="") & ~Q(source="") & ~Q(checked_by=""),
                name="customs_words_have_source",
                violation_error_message="Say what is written, where it was read, and who read it.",
            ),
            models.CheckConstraint(
                condition=Q(value_per_packet__gte=0), name="customs_value_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return self.get_country_display() or "every other country"
