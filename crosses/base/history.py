"""Who changed what, when and why: every save of a record with a history goes through here."""

from typing import Any

from django.db.models import Model


def save_with_history(
    record: Model, *, by: Any, why: str = "", fields: list[str] | None = None
) -> None:
    """Save a record and write a line of its history under the name of the person who did it."""
    # The two attributes are how the history library is told; it has no other door.
    record._history_user = by  # type: ignore[attr-defined]  # noqa: SLF001
    record._change_reason = why[:100]  # type: ignore[attr-defined]  # noqa: SLF001
    record.save(update_fields=fields)
