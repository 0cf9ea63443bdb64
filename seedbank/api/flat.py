"""Any list as a table: nested facts side by side under joined names, lists in one cell."""

from collections.abc import Iterator, Mapping
from typing import Any

from rest_framework import serializers

from seedbank.formats.tables.writing import Value

Path = tuple[str, ...]


def paths_of(serializer: serializers.BaseSerializer[Any]) -> list[Path]:
    """Return where each column's value stands in what a serializer writes."""
    assert isinstance(serializer, serializers.Serializer)  # noqa: S101  for the type checker
    paths: list[Path] = []
    for name, field in serializer.fields.items():
        nested = _nested(serializer, field)
        paths += [(name, *path) for path in paths_of(nested)] if nested else [(name,)]
    return paths


def headings(paths: list[Path]) -> list[str]:
    return ["_".join(path) for path in paths]


def cells(told: Mapping[str, Any], paths: list[Path]) -> Iterator[Value]:
    for path in paths:
        value: Any = told
        for name in path:
            value = None if value is None else value[name]
        yield _cell(value)


def _nested(
    serializer: serializers.Serializer[Any], field: serializers.Field[Any, Any, Any, Any]
) -> serializers.Serializer[Any] | None:
    found: Any = field
    if isinstance(field, serializers.SerializerMethodField):
        # Where the schema learns what a method returns.
        method = getattr(serializer, str(field.method_name))
        found = getattr(method, "_spectacular_annotation", {}).get("field")
    return found if isinstance(found, serializers.Serializer) else None


def _cell(value: Any) -> Value:
    if isinstance(value, Mapping):
        return " ".join(str(part) for part in value.values() if part not in (None, ""))
    if isinstance(value, list | tuple):
        return "; ".join(str(_cell(one)) for one in value)
    written: Value = value
    return written
