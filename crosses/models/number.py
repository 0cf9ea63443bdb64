from django.db import models


class NumberSeries(models.Model):
    """The next serial of each kind of number; the row is the lock."""

    kind = models.CharField(max_length=20, unique=True)
    next_serial = models.PositiveBigIntegerField(default=1)

    class Meta:
        verbose_name_plural = "number series"

    def __str__(self) -> str:
        return f"{self.kind}: {self.next_serial}"
