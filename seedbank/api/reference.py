"""The guide's list of addresses, read from the schema, so that the two never differ."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from drf_spectacular.generators import SchemaGenerator

from seedbank.api.schema import ROOT

# What every address takes is told once, above the list.
_OF_ALL = {"format", "cursor", "page_size", "If-None-Match", "If-Match", "Idempotency-Key"}


@dataclass(frozen=True)
class Said:
    """A parameter, or a field of a body, with what may stand in it."""

    name: str
    words: str
    choices: tuple[str, ...]
    is_required: bool


@dataclass(frozen=True)
class Call:
    method: str
    address: str
    summary: str
    words: str
    is_list: bool
    parameters: tuple[Said, ...]
    body: tuple[Said, ...]


@dataclass(frozen=True)
class Chapter:
    name: str
    calls: tuple[Call, ...]


@lru_cache(maxsize=1)
def reference() -> tuple[Chapter, ...]:
    """Return every call of ours, by the first word of its address."""
    schema = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    chapters: dict[str, list[Call]] = {}
    for path, methods in schema["paths"].items():
        if not path.startswith(ROOT):
            continue
        name = path.removeprefix(ROOT).split("/")[0]
        calls = [_call(schema, path, method, found) for method, found in methods.items()]
        chapters.setdefault(name, []).extend(calls)
    return tuple(Chapter(name, tuple(calls)) for name, calls in sorted(chapters.items()))


def _call(schema: Any, path: str, method: str, operation: dict[str, Any]) -> Call:
    parameters = [
        Said(
            each["name"],
            each.get("description", ""),
            _choices(schema, each["schema"]),
            is_required=each.get("required", False),
        )
        for each in operation.get("parameters", [])
        if each["name"] not in _OF_ALL
    ]
    return Call(
        method=method.upper(),
        address=path.removeprefix(ROOT),
        summary=operation.get("summary", ""),
        words=operation.get("description", "").replace("`", ""),
        is_list="cursor" in {each["name"] for each in operation.get("parameters", [])},
        parameters=tuple(parameters),
        body=_body(schema, operation),
    )


def _body(schema: Any, operation: dict[str, Any]) -> tuple[Said, ...]:
    content = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
    described = _followed(schema, content.get("schema", {}))
    required = described.get("required", [])
    return tuple(
        Said(
            name,
            facts.get("description", "") or _followed(schema, facts).get("title", ""),
            _choices(schema, facts),
            is_required=name in required,
        )
        for name, facts in described.get("properties", {}).items()
    )


def _choices(schema: Any, facts: dict[str, Any]) -> tuple[str, ...]:
    """Name what may stand there: the choices, or the sort of value."""
    found = _followed(schema, facts)
    if "enum" in found:
        return tuple(str(each) for each in found["enum"])
    if found.get("type") == "array":
        inner = _followed(schema, found["items"])
        fields = ", ".join(inner.get("properties", {}))
        return (f"a list of {{{fields}}}" if fields else f"a list of {_sort(inner)}",)
    return (_sort(found),)


def _sort(found: dict[str, Any]) -> str:
    kinds = found.get("type", "string")
    kind = next(k for k in kinds if k != "null") if isinstance(kinds, list) else kinds
    words = {"date": "a day, 2026-05-20", "date-time": "a moment", "decimal": "a number"}
    plain = {"integer": "a whole number", "number": "a number", "boolean": "true or false"}
    written: str = words.get(found.get("format", "")) or plain.get(kind, "text")
    return written


def _followed(schema: Any, facts: dict[str, Any]) -> dict[str, Any]:
    """Follow a reference to what it names; of alternatives the first."""
    for several in ("allOf", "oneOf", "anyOf"):
        if several in facts:
            return _followed(schema, facts[several][0])
    if "$ref" in facts:
        name = facts["$ref"].rpartition("/")[2]
        return _followed(schema, schema["components"]["schemas"][name])
    return facts
