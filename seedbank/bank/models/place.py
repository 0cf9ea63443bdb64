from django.conf import settings
from django.db import models
from django.db.models import Q

from crosses.base.version import Versioned


class Place(Versioned):
    """A drawer, tray or box; without an owner it is the bank's."""

    code = models.CharField(max_length=20, help_text="Short, as written on the tray: A-03.")
    name = models.CharField(max_length=120, blank=True)
    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="places",
    )
    walk_order = models.PositiveIntegerField(
        default=0, help_text="Pick lists follow this order, then the code."
    )
    temperature_celsius = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)

    class Meta:
        ordering = ["walk_order", "code"]
        constraints = [
            models.UniqueConstraint(
                fields=["owner", "code"],
                name="place_code_once_an_owner",
                violation_error_message="There is a place with this code already.",
            ),
            models.UniqueConstraint(
                fields=["code"],
                condition=Q(owner__isnull=True),
                name="place_code_once_in_bank",
                violation_error_message="The bank has a place with this code already.",
            ),
            models.CheckConstraint(condition=~Q(code=""), name="place_has_code"),
        ]

    def __str__(self) -> str:
        return self.code
