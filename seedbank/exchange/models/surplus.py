from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from crosses.base.version import Versioned
from seedbank.exchange.models.round import Round


class Surplus(Versioned):
    """The time in which what a round left over may be taken, first come first served."""

    round = models.OneToOneField(Round, on_delete=models.PROTECT, related_name="surplus")
    opens_at = models.DateTimeField()
    closes_at = models.DateTimeField()
    packets_each = models.PositiveSmallIntegerField("packets a member may take")
    set_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    history = HistoricalRecords()

    class Meta:
        verbose_name_plural = "surplus"
        constraints = [
            models.CheckConstraint(
                condition=Q(closes_at__gt=F("opens_at")),
                name="surplus_closes_after_opening",
                violation_error_message="The surplus closes after it opens.",
            ),
            models.CheckConstraint(
                condition=Q(packets_each__gte=1),
                name="surplus_gives_something",
                violation_error_message="A member may take one packet or more.",
            ),
        ]

    def __str__(self) -> str:
        return f"surplus of {self.round_id}"
