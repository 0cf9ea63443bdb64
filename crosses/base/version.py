"""How often a record was changed, so that nobody writes over what they have not read."""

from django.db import models


class Versioned(models.Model):
    """A record that counts its changes; `save_with_history` is what counts them.

    Whoever opens a form or reads by API is told the version, and sends it back with the change.
    """

    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        abstract = True


def count_change(record: models.Model) -> None:
    """Give a record that is about to be saved its next version; the row stays locked meanwhile.

    The number is read from the row and not from the record in hand: two who change a record at one
    moment get two versions.
    """
    if not isinstance(record, Versioned) or record._state.adding:  # noqa: SLF001  a documented name
        return
    record.version = version_now(record) + 1


def version_now(record: Versioned) -> int:
    """Lock a record's row and return the version that is written there."""
    records = type(record)._default_manager  # noqa: SLF001  the documented name of the manager
    rows = records.select_for_update().filter(pk=record.pk)
    version: int = rows.values_list("version", flat=True).get()
    return version
