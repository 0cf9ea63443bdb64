"""Who changed what, when and why: every save of a record with a history goes through here."""

from typing import Any

from django.db.models import Model

from crosses.base.version import count_change


def save_with_history(
    record: Model, *, by: Any, why: str = "", fields: list[str] | None = None
) -> None:
    """Save a record and write a line of its history under the name of the person who did it.

    A save of some fields only is of what is reckoned from other records; it makes no new version.
    """
    if fields is None:
        count_change(record)
    # The two attributes are how the history library is told; it has no other door.
    record._history_user = by  # type: ignore[attr-defined]  # noqa: SLF001
    record._change_reason = why[:100]  # type: ignore[attr-defined]  # noqa: SLF001
    record.save(update_fields=fields)


def hold(record: Model) -> None:
    """Lock a record's row until the transaction ends, so that it is read and changed in one go."""
    records = type(record)._default_manager  # noqa: SLF001  the documented name of the manager
    records.select_for_update().get(pk=record.pk)
