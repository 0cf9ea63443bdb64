from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from seedbank.exchange.models.listing import ListLine
from seedbank.exchange.models.round import Round


class WishList(models.Model):
    """What one member would like of one round, in order."""

    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="wish_lists")
    member = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="wish_lists"
    )
    changed_at = models.DateTimeField()
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="The member, or the keeper who typed a list that came by post.",
    )
    # The list in words, so that the history keeps every list ever sent and not only the last.
    as_sent = models.TextField(blank=True)
    receipt_at = models.DateTimeField("last receipt", null=True, blank=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["round", "member"]
        constraints = [
            models.UniqueConstraint(
                fields=["round", "member"],
                name="wish_list_once_a_member",
                violation_error_message="This member has a wish list for this round.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.round_id}: {self.member_id}"

    @property
    def version(self) -> str:
        """What a page shows of when it read the list, to tell later whether it has changed."""
        return self.changed_at.isoformat()

    @property
    def is_receipt_due(self) -> bool:
        return self.receipt_at is None or self.receipt_at < self.changed_at


class Wish(models.Model):
    """One line wished for; rank 1 is wished for most."""

    wish_list = models.ForeignKey(WishList, on_delete=models.CASCADE, related_name="wishes")
    rank = models.PositiveSmallIntegerField()
    line = models.ForeignKey(ListLine, on_delete=models.PROTECT, related_name="wishes")
    is_reserve = models.BooleanField(default=False)

    class Meta:
        ordering = ["wish_list", "rank"]
        constraints = [
            models.UniqueConstraint(fields=["wish_list", "rank"], name="wish_rank_once"),
            models.CheckConstraint(condition=Q(rank__gte=1), name="wish_rank_from_one"),
        ]

    def __str__(self) -> str:
        return f"{self.rank}: {self.line_id}"
