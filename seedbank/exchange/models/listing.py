from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.countries import COUNTRY_CHOICES
from crosses.base.version import Versioned
from seedbank.bank.models import Lot
from seedbank.exchange.models.round import Round


class ListLine(Versioned):
    """One line of the list: a lot under a number that never changes once published."""

    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="lines")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="list_lines")
    line_number = models.PositiveIntegerField()
    description = models.TextField(blank=True)
    kept_back = models.PositiveSmallIntegerField("packets kept for the bank", default=0)
    withdrawn_reason = models.CharField(max_length=300, blank=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["round", "line_number"]
        constraints = [
            models.UniqueConstraint(fields=["round", "line_number"], name="list_line_number_once"),
            models.UniqueConstraint(
                fields=["round", "lot"],
                name="list_lot_once",
                violation_error_message="This lot is on the list already.",
            ),
            models.CheckConstraint(
                condition=Q(line_number__gte=1), name="list_line_number_from_one"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.line_number}"


@keep_choices
class LineBar(models.Model):
    """A country a line may not be asked for from, and why."""

    line = models.ForeignKey(ListLine, on_delete=models.CASCADE, related_name="bars")
    country = models.CharField(max_length=2, choices=COUNTRY_CHOICES)
    words = models.CharField(max_length=300)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["line", "country"], name="line_bar_country_once"),
            models.CheckConstraint(
                condition=~Q(words=""),
                name="line_bar_says_why",
                violation_error_message="Say why the line is barred.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.line_id} not to {self.country}"
