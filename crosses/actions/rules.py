"""What several acts ask before they write."""

import datetime

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db.models import ForeignKey, Model
from django.utils import timezone

from crosses.base.refusal import Refused
from crosses.base.withdrawal import Withdrawable
from crosses.models import Pollination


def day_of(at: datetime.datetime) -> datetime.date:
    """Return the day of a moment in the society's time zone."""
    return timezone.localtime(at).date()


def written_day(day: datetime.date) -> str:
    return f"{day.day} {day:%B %Y}"


def refuse_future(day: datetime.date | None, *, at: datetime.datetime, field: str) -> None:
    if day is not None and day > day_of(at):
        raise Refused("in-the-future", "This day is still to come.", field=field)


def refuse_before_pollination(
    day: datetime.date, pollination: Pollination, what: str, *, field: str
) -> None:
    if day < pollination.pollinated_on:
        raise Refused(
            "before-pollination",
            f"{what} was pollinated on {written_day(pollination.pollinated_on)}.",
            field=field,
        )


def refuse_withdrawn(record: Withdrawable, what: str) -> None:
    if record.is_withdrawn:
        raise Refused(
            "withdrawn", f"This {what} has been withdrawn; nothing more can be written on it."
        )


def refuse_broken_rules(record: Model) -> None:
    """Ask the record's own fields and constraints, so that a rule speaks before the database does.

    The records it points to were read from the database a moment ago and are not looked up again.
    """
    refuse_broken_fields(record)
    try:
        record.validate_constraints()
    except ValidationError as broken:
        raise _in_words(broken) from broken


def refuse_broken_fields(record: Model) -> None:
    """Ask the record's own fields, without a query."""
    links = {field.name for field in record._meta.fields if isinstance(field, ForeignKey)}  # noqa: SLF001
    try:
        record.clean_fields(exclude=links)
    except ValidationError as broken:
        raise _in_words(broken) from broken


def _in_words(broken: ValidationError) -> Refused:
    field, messages = next(iter(broken.message_dict.items()))
    return Refused("rule-broken", messages[0], field="" if field == NON_FIELD_ERRORS else field)
