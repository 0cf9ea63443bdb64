from django.db import models


class Visibility(models.TextChoices):
    """Who may see a grower's record."""

    ME = "me", "only me"
    SOCIETY = "society", "the society"
