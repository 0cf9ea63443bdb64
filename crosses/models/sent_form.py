from django.db import models


class SentForm(models.Model):
    """A form that was carried out, by what was sent and its key; sent again it does nothing."""

    digest = models.CharField(max_length=64, unique=True)
    # Where it led to; empty until the page has said so.
    address = models.CharField(max_length=1000, blank=True)
    at = models.DateTimeField(db_index=True)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"sent at {self.at}, led to {self.address}"
