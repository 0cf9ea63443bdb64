from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.version import Versioned
from crosses.base.withdrawal import Withdrawable
from seedbank.bank.models.lot import Lot


class Donation(Withdrawable):
    """What a member sends the bank in one envelope."""

    number = models.CharField(max_length=20, unique=True, editable=False)
    donor = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="donations"
    )
    offered_at = models.DateTimeField()
    received_at = models.DateTimeField(null=True, blank=True)
    received_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    note = models.TextField(blank=True)
    client_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    history = HistoricalRecords()

    class Meta(Withdrawable.Meta):
        ordering = ["-offered_at"]
        constraints = [
            *Withdrawable.Meta.constraints,
            models.CheckConstraint(
                condition=Q(received_at__isnull=True, received_by__isnull=True)
                | Q(received_at__isnull=False, received_by__isnull=False),
                name="donation_received_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return self.number


@keep_choices
class DonationLine(Versioned):
    """One lot of a donation, and what became of the offer."""

    class Answer(models.TextChoices):
        WAITING = "waiting", "waiting for the keeper"
        ACCEPTED = "accepted", "accepted"
        DECLINED = "declined", "declined"
        NOT_RECEIVED = "not_received", "not in the envelope"

    donation = models.ForeignKey(Donation, on_delete=models.PROTECT, related_name="lines")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="donation_lines")
    packets_offered = models.PositiveSmallIntegerField()
    # Empty unless the keeper put the name right; the donor reads both.
    name_as_offered = models.CharField(max_length=300, blank=True)
    packets_received = models.PositiveSmallIntegerField(null=True, blank=True)
    answer = models.CharField(max_length=14, choices=Answer.choices, default=Answer.WAITING)
    declined_reason = models.CharField(max_length=300, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["donation", "lot"], name="donation_lot_once"),
            models.CheckConstraint(
                condition=Q(packets_offered__gte=1),
                name="donation_line_offers_something",
                violation_error_message="Offer one packet or more.",
            ),
            models.CheckConstraint(
                condition=(Q(answer="declined") & ~Q(declined_reason=""))
                | (~Q(answer="declined") & Q(declined_reason="")),
                name="donation_declined_with_reason",
                violation_error_message="Declining needs a reason; the donor reads it.",
            ),
            models.CheckConstraint(
                condition=(
                    Q(answer="waiting") & Q(answered_at__isnull=True, packets_received__isnull=True)
                )
                | (~Q(answer="waiting") & Q(answered_at__isnull=False)),
                name="donation_answer_dated",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.donation_id}: {self.lot_id}"
