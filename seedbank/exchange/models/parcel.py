from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from crosses.base.version import Versioned
from seedbank.bank.models import Packet
from seedbank.exchange.models.allocation import AllocationRun
from seedbank.exchange.models.listing import ListLine
from seedbank.exchange.models.round import Round


class Parcel(Versioned):
    """What goes to one member in one envelope."""

    number = models.CharField(max_length=20, unique=True, editable=False)
    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="parcels")
    member = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="parcels"
    )
    # Whoever has the parcel in hand, and nobody else of the packers, sees the address.
    packer = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="parcels_in_hand",
    )
    taken_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    posted_on = models.DateField(null=True, blank=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    cancelled_reason = models.CharField(max_length=300, blank=True)
    weight_grams = models.PositiveIntegerField(null=True, blank=True)
    postage_text = models.CharField("postage", max_length=60, blank=True)
    papers_note = models.CharField("papers needed", max_length=300, blank=True)
    # What held the parcel when it was closed, and who answered for it and why.
    held_by_rules = models.TextField(blank=True)
    held_reason = models.CharField("closed though held", max_length=300, blank=True)
    held_answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    # The slip's code opens a page to report on; keeper and member can shut it.
    report_stopped_at = models.DateTimeField(null=True, blank=True)
    report_stopped_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords()

    class Meta:
        ordering = ["number"]
        permissions = [("pack_parcels", "Pack parcels and print their slips")]
        constraints = [
            models.UniqueConstraint(
                fields=["round", "member"],
                condition=Q(closed_at__isnull=True, cancelled_at__isnull=True),
                name="parcel_one_open_a_member",
                violation_error_message="This member has an open parcel already.",
            ),
            models.CheckConstraint(
                condition=Q(posted_on__isnull=True) | Q(closed_at__isnull=False),
                name="parcel_closed_before_posted",
                violation_error_message="Close the parcel before it is posted.",
            ),
            models.CheckConstraint(
                condition=Q(cancelled_at__isnull=True) | ~Q(cancelled_reason=""),
                name="parcel_cancelled_with_reason",
                violation_error_message="Say why the parcel is cancelled.",
            ),
            models.CheckConstraint(
                condition=Q(packer__isnull=True, taken_at__isnull=True)
                | Q(packer__isnull=False, taken_at__isnull=False),
                name="parcel_taken_in_hand_dated",
            ),
            models.CheckConstraint(
                condition=Q(held_by_rules="", held_reason="", held_answered_by__isnull=True)
                | (
                    ~Q(held_by_rules="")
                    & ~Q(held_reason="")
                    & Q(held_answered_by__isnull=False, closed_at__isnull=False)
                ),
                name="parcel_held_closed_with_reason",
                violation_error_message="A parcel held by a rule is closed with a named person's reason.",
            ),
        ]

    def __str__(self) -> str:
        return self.number


class ParcelItem(models.Model):
    """One packet promised to one parcel; a promise that is given up stays to be read."""

    parcel = models.ForeignKey(Parcel, on_delete=models.PROTECT, related_name="items")
    line = models.ForeignKey(ListLine, on_delete=models.PROTECT, related_name="items")
    packet = models.ForeignKey(Packet, on_delete=models.PROTECT, related_name="promises")
    run = models.ForeignKey(
        AllocationRun, null=True, blank=True, on_delete=models.PROTECT, related_name="items"
    )
    turn = models.PositiveIntegerField(null=True, blank=True)
    promised_at = models.DateTimeField()
    packed_at = models.DateTimeField(null=True, blank=True)
    packed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    released_reason = models.CharField(max_length=300, blank=True)
    # Lost through no fault of hers: the next top-up serves her before anybody else.
    is_owed = models.BooleanField("owed another packet", default=False)
    # Taken of what was left over, first come first served, beyond the allowance.
    is_surplus = models.BooleanField("taken of the surplus", default=False)
    client_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)

    class Meta:
        ordering = ["parcel", "line"]
        constraints = [
            # The rule that a packet is promised once, kept by the database itself.
            models.UniqueConstraint(
                fields=["packet"],
                condition=Q(released_at__isnull=True),
                name="packet_promised_once",
                violation_error_message="This packet is promised to another parcel.",
            ),
            models.CheckConstraint(
                condition=Q(released_at__isnull=True, released_reason="")
                | (Q(released_at__isnull=False) & ~Q(released_reason="")),
                name="parcel_item_released_with_reason",
                violation_error_message="Say why the packet is taken back.",
            ),
            models.CheckConstraint(
                condition=Q(packed_at__isnull=True, packed_by__isnull=True)
                | Q(packed_at__isnull=False, packed_by__isnull=False),
                name="parcel_item_packed_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.parcel_id}: {self.packet_id}"
