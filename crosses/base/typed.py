"""Numbers and days as people type them, in every form."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

_DECIMALS = "Write the number with one point or comma before the decimals: 0.41 or 0,41."


def _with_point(value: Any) -> Any:
    """Read a decimal comma; a number with both, or with two, could be two numbers."""
    if not isinstance(value, str):
        return value
    text = value.strip()
    if text.count(",") + text.count(".") > 1:
        raise ValidationError(_DECIMALS, code="invalid")
    return text.replace(",", ".")


def _box() -> forms.TextInput:
    # A number box of the browser takes "0,41" for 41 where its language writes a point.
    return forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})


class DecimalField(forms.DecimalField):
    """A number with decimals, after a point or a comma."""

    default_error_messages = {"invalid": _DECIMALS}

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", _box())
        super().__init__(**options)

    def to_python(self, value: Any) -> Any:
        return super().to_python(_with_point(value))


class FloatField(forms.FloatField):
    """A measure, after a point or a comma."""

    default_error_messages = {"invalid": _DECIMALS}

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", _box())
        super().__init__(**options)

    def to_python(self, value: Any) -> Any:
        return super().to_python(_with_point(value))


class DateField(forms.DateField):
    """A day: from the browser's calendar, or typed with the day first."""

    default_error_messages = {
        "invalid": "Enter a valid date, as 2026-11-30, 30.11.2026 or 30/11/2026."
    }

    def __init__(self, **options: Any) -> None:
        options.setdefault("input_formats", ["%Y-%m-%d", "%d.%m.%Y", "%d/%m/%Y"])
        options.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        super().__init__(**options)
