from django.conf import settings
from django.db import models


class OwnNumberLetter(models.Model):
    """The letter that a device of a grower puts into the own numbers it gives without a signal.

    No two devices share one, so a number such as 26-A3 can be on a tag before anybody is asked.
    """

    grower = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="own_number_letters"
    )
    device = models.UUIDField()
    letter = models.CharField(max_length=3)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["grower", "letter"], name="own_number_letter_once"),
            models.UniqueConstraint(
                fields=["grower", "device"], name="own_number_letter_of_device"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.letter} of {self.grower_id}"
