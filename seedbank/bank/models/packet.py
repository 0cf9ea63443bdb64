from django.conf import settings
from django.db import models
from django.db.models import F, Q

from crosses.base.choices import keep_choices
from seedbank.bank.models.lot import Lot
from seedbank.bank.models.place import Place


@keep_choices
class Packet(models.Model):
    """A numbered packet. Where it is and what became of it follows from its movements."""

    class State(models.TextChoices):
        WITH_MEMBER = "with_member", "with a member"
        IN_STORE = "in_store", "in the bank's store"
        HELD = "held", "promised to a parcel"
        PACKED = "packed", "packed"
        SENT = "sent", "sent"
        SOWN = "sown", "sown"
        SPLIT = "split", "split into other packets"
        DISCARDED = "discarded", "discarded"

    number = models.CharField(max_length=20, unique=True, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="packets")
    seeds = models.PositiveIntegerField(help_text="Seeds put in when it was made.")
    is_pinch = models.BooleanField("a pinch of dust seed, not counted", default=False)
    split_from = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="parts"
    )
    made_at = models.DateTimeField(editable=False)
    # What the movements add up to, written with each of them by actions.packet alone.
    state = models.CharField(max_length=12, choices=State.choices, editable=False)
    place = models.ForeignKey(
        Place,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="packets",
        editable=False,
    )
    holder = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="packets",
        editable=False,
    )
    seeds_left = models.PositiveIntegerField(editable=False)
    last_step = models.PositiveIntegerField(editable=False)

    class Meta:
        ordering = ["number"]
        indexes = [models.Index(fields=["lot", "state"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(seeds__gte=1),
                name="packet_holds_seed",
                violation_error_message="A packet holds one seed or more.",
            ),
            models.CheckConstraint(
                condition=Q(seeds_left__lte=F("seeds")),
                name="packet_left_within_made",
                violation_error_message="More seed than the packet holds.",
            ),
            models.CheckConstraint(condition=Q(last_step__gte=1), name="packet_has_movement"),
            models.CheckConstraint(
                condition=Q(state__in=["with_member", "sent"], holder__isnull=False)
                | (~Q(state__in=["with_member", "sent"])),
                name="packet_with_member_names_holder",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=["sown", "split", "discarded"]) | Q(place__isnull=True),
                name="packet_gone_is_nowhere",
            ),
        ]

    def __str__(self) -> str:
        return self.number


@keep_choices
class Movement(models.Model):
    """One line of a packet's story. Only ever added: the database refuses a change."""

    class Kind(models.TextChoices):
        MADE = "made", "made"
        RECEIVED = "received", "received by the bank"
        MOVED = "moved", "moved"
        HELD = "held", "promised to a parcel"
        RELEASED = "released", "promise given up"
        PACKED = "packed", "packed"
        UNPACKED = "unpacked", "taken out of the parcel"
        SENT = "sent", "sent"
        RETURNED = "returned", "came back"
        PART_SOWN = "part_sown", "sown in part"
        SOWN = "sown", "sown"
        SPLIT = "split", "split"
        DISCARDED = "discarded", "discarded"

    packet = models.ForeignKey(Packet, on_delete=models.PROTECT, related_name="movements")
    # The writer reads the last step and adds the next one; of two writers the second is refused by
    # the unique pair, so one packet cannot go two ways.
    step = models.PositiveIntegerField()
    kind = models.CharField(max_length=10, choices=Kind.choices)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    place = models.ForeignKey(
        Place, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    holder = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    seeds = models.PositiveIntegerField(
        null=True, blank=True, help_text="Seeds taken out by this movement."
    )
    reference = models.CharField(
        max_length=60, blank=True, help_text="The parcel, sowing or run it belongs to."
    )
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["packet", "step"]
        constraints = [
            models.UniqueConstraint(
                fields=["packet", "step"],
                name="movement_one_at_a_step",
                violation_error_message="Somebody else has just moved this packet.",
            ),
            models.CheckConstraint(
                condition=(Q(step=1) & Q(kind="made")) | (Q(step__gt=1) & ~Q(kind="made")),
                name="movement_starts_with_made",
            ),
            models.CheckConstraint(
                condition=~Q(kind="discarded") | ~Q(note=""),
                name="movement_discard_says_why",
                violation_error_message="Say why the packet is discarded.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.packet_id} step {self.step}: {self.kind}"
