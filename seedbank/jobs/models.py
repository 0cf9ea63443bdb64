"""Work that takes longer than a page may: what was asked for, and how far it is."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from crosses.base.choices import keep_choices


@keep_choices
class Job(models.Model):
    """One piece of background work, asked for by a person and done by a worker."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        RUNNING = "running", "being done"
        FINISHED = "finished", "finished"
        FAILED = "failed", "failed"
        STOPPED = "stopped", "stopped"

    kind = models.CharField(max_length=40)
    title = models.CharField(max_length=200)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="jobs"
    )
    asked_at = models.DateTimeField()
    arguments = models.JSONField(default=dict)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    total = models.PositiveIntegerField(null=True, blank=True)
    done = models.PositiveIntegerField(default=0)
    # Written in the transaction of the work itself: a worker that takes over goes on from here.
    position = models.PositiveIntegerField(default=0)
    message = models.TextField(blank=True)
    started_at = models.DateTimeField(null=True, blank=True)
    heartbeat_at = models.DateTimeField(null=True, blank=True)
    # The claim of the worker that has it; whoever holds another may no longer write.
    claim = models.UUIDField(null=True, blank=True)
    times_taken_up = models.PositiveSmallIntegerField(default=0)
    ended_at = models.DateTimeField(null=True, blank=True)
    result_name = models.CharField(max_length=120, blank=True)
    removed_at = models.DateTimeField(
        null=True, blank=True, help_text="When its files were taken off the disk."
    )
    client_key = models.UUIDField(null=True, blank=True, unique=True, editable=False)

    class Meta:
        ordering = ["-asked_at", "-id"]
        indexes = [models.Index(fields=["state", "asked_at"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(state="running", claim__isnull=False, heartbeat_at__isnull=False)
                | (~Q(state="running") & Q(claim__isnull=True)),
                name="job_running_has_a_worker",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "running"], ended_at__isnull=True)
                | (~Q(state__in=["waiting", "running"]) & Q(ended_at__isnull=False)),
                name="job_ended_dated",
            ),
            models.CheckConstraint(
                condition=~Q(state="failed") | ~Q(message=""),
                name="job_failed_says_why",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title} ({self.get_state_display()})"

    @property
    def has_ended(self) -> bool:
        return self.ended_at is not None


class Worker(models.Model):
    """A process that does jobs; its heartbeat tells the site that nobody need be called."""

    name = models.UUIDField(unique=True)
    started_at = models.DateTimeField()
    heartbeat_at = models.DateTimeField()

    class Meta:
        ordering = ["started_at"]

    def __str__(self) -> str:
        return str(self.name)
