"""Files that were brought in: what was looked at, what it made, and how it is taken back."""

import uuid

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import Q

from crosses.base.choices import keep_choices


@keep_choices
class Import(models.Model):
    """A file a person brings in: first it is looked at, then it is confirmed."""

    class State(models.TextChoices):
        LOOKING = "looking", "being looked at"
        LOOKED = "looked", "not brought in yet"
        SAVING = "saving", "being brought in"
        SAVED = "saved", "brought in"
        UNDONE = "undone", "taken back"

    token = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=40)
    file_name = models.CharField(max_length=120)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="imports"
    )
    at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=State.choices, default=State.LOOKING)
    # The heading of the file for a column, where the person has said it; empty: it has none.
    chosen = models.JSONField(default=dict)
    # What the last look or the bringing in came to, as its page shows it.
    report = models.JSONField(default=dict)
    saved_at = models.DateTimeField(null=True, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["saved", "undone"], saved_at__isnull=False)
                | (~Q(state__in=["saved", "undone"]) & Q(saved_at__isnull=True)),
                name="import_saved_dated",
            ),
            models.CheckConstraint(
                condition=Q(state="undone", undone_at__isnull=False)
                | (~Q(state="undone") & Q(undone_at__isnull=True)),
                name="import_undone_dated",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.file_name} ({self.get_state_display()})"


class ImportedRecord(models.Model):
    """One record that a file made or changed, in the order in which it did."""

    # "import" is a word of the language.
    brought_by = models.ForeignKey(Import, on_delete=models.CASCADE, related_name="records")
    position = models.PositiveIntegerField()
    model = models.CharField(max_length=60)
    key = models.BigIntegerField()
    # Of a record that was changed: what it said before, and what it said then.
    before = models.JSONField(null=True, blank=True, encoder=DjangoJSONEncoder)
    after = models.JSONField(null=True, blank=True, encoder=DjangoJSONEncoder)

    class Meta:
        ordering = ["brought_by", "position"]
        constraints = [
            models.UniqueConstraint(
                fields=["brought_by", "position"], name="imported_record_position_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.model} {self.key}"


class KeptMatch(models.Model):
    """Which heading a member's files of a kind use for a column, to be known again."""

    member = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="kept_matches"
    )
    kind = models.CharField(max_length=40)
    headings = models.JSONField(default=dict)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["member", "kind"], name="kept_match_once"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of member {self.member_id}"
