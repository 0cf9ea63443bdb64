from django.conf import settings
from django.db import models
from django.db.models import Q

from crosses.base.choices import keep_choices
from seedbank.exchange.models.listing import ListLine
from seedbank.exchange.models.round import Round


@keep_choices
class AllocationRun(models.Model):
    """One sharing-out with its inputs frozen; written once, never changed."""

    class Kind(models.TextChoices):
        RUN = "run", "first run"
        REPLAY = "replay", "replay before the announcement"
        TOP_UP = "top_up", "top-up"

    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="runs")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=8, choices=Kind.choices)
    policy = models.CharField(max_length=8, choices=Round.Policy.choices)
    parent = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="children"
    )
    # The exact bytes that were shared out from and the exact bytes that came of it.
    inputs = models.TextField()
    inputs_digest = models.CharField(max_length=64)
    result = models.TextField()
    result_digest = models.CharField(max_length=64)
    engine = models.CharField(max_length=60)
    why = models.CharField(max_length=300, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["round", "position"]
        permissions = [("keep_exchange", "Keep the exchange: rounds, lists, sharing out")]
        constraints = [
            models.UniqueConstraint(
                fields=["round", "position"], name="allocation_run_position_once"
            ),
            models.CheckConstraint(
                condition=~Q(inputs_digest="") & ~Q(result_digest=""),
                name="allocation_run_has_digests",
            ),
            models.CheckConstraint(
                condition=(Q(kind="run") & Q(parent__isnull=True))
                | (~Q(kind="run") & Q(parent__isnull=False)),
                name="allocation_run_follows_a_run",
            ),
        ]

    def __str__(self) -> str:
        return f"run {self.position} of {self.round_id}"


class RunAccount(models.Model):
    """What all pages about a run need: the table of measures, and the figures behind every reason."""

    run = models.OneToOneField(AllocationRun, on_delete=models.PROTECT, related_name="account")
    measures = models.JSONField()
    common = models.JSONField()

    def __str__(self) -> str:
        return f"account of {self.run_id}"


class MemberAccount(models.Model):
    """What one member's page about a run needs besides, so that no page reads everybody's lists."""

    run = models.ForeignKey(AllocationRun, on_delete=models.PROTECT, related_name="member_accounts")
    member_number = models.CharField(max_length=20)
    own = models.JSONField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["run", "member_number"], name="member_account_once_a_run"
            )
        ]

    def __str__(self) -> str:
        return f"{self.member_number} in {self.run_id}"


@keep_choices
class HandChange(models.Model):
    """A keeper's word on one member and one line; every later run keeps it."""

    class Kind(models.TextChoices):
        GIVE = "give", "give a packet"
        WITHHOLD = "withhold", "give none"

    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="hand_changes")
    member = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="hand_changes"
    )
    line = models.ForeignKey(ListLine, on_delete=models.PROTECT, related_name="hand_changes")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    why = models.CharField(max_length=300)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    # A later word on the same member and line takes its place.
    replaced_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["member", "line"],
                condition=Q(replaced_at__isnull=True),
                name="hand_change_one_stands",
            ),
            models.CheckConstraint(
                condition=~Q(why=""),
                name="hand_change_says_why",
                violation_error_message="Say why; everybody can read it.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.member_id}, {self.line_id}"
