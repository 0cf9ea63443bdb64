from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.withdrawal import Withdrawable


@keep_choices
class Check(Withdrawable):
    """What was seen of a pollination on a day."""

    class Kind(models.TextChoices):
        NOTHING_YET = "nothing_yet", "nothing yet"
        COROLLA_FADED = "corolla_faded", "corolla faded"
        STILL_THERE = "still_there", "still there"
        SWELLING = "swelling", "ovary swelling"
        COLOURING = "colouring", "colouring"
        SPLIT = "split", "split, seed still there"
        SHED = "shed", "split, seed gone"
        ABORTED = "aborted", "aborted"
        EATEN = "eaten", "eaten"

    pollination = models.ForeignKey(
        "crosses.Pollination", on_delete=models.PROTECT, related_name="checks"
    )
    seen_on = models.DateField()
    kind = models.CharField(max_length=14, choices=Kind.choices)
    flowers = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        help_text="How many of the flowers; empty: all that are still open questions.",
    )
    note = models.CharField(max_length=200, blank=True)
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    logged_at = models.DateTimeField()
    client_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    history = HistoricalRecords()

    class Meta(Withdrawable.Meta):
        ordering = ["seen_on", "id"]
        constraints = [
            *Withdrawable.Meta.constraints,
            models.CheckConstraint(
                condition=Q(flowers__isnull=True) | Q(flowers__gte=1),
                name="check_of_a_flower",
                violation_error_message="A check is of one flower or more.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} on {self.seen_on}"


class CheckPhoto(Withdrawable):
    """A photograph of what was seen; the file holds nothing but the picture."""

    # `check` is a method of every Django record.
    look = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="photos")
    file = models.FileField(upload_to="checks/%Y", editable=False)
    width = models.PositiveSmallIntegerField(editable=False)
    height = models.PositiveSmallIntegerField(editable=False)
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    logged_at = models.DateTimeField()
    client_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)

    class Meta(Withdrawable.Meta):
        ordering = ["id"]

    def __str__(self) -> str:
        return f"photo of {self.look_id}"
