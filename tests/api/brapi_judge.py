"""The published BrAPI v2.1 schemas as judge of an answer."""

import json
from pathlib import Path
from typing import Any

import jsonschema
from django.urls import resolve

FOLDER = Path(__file__).parent / "brapi_schemas"
MODULES = {
    module: json.loads((FOLDER / f"brapi-{module}-2.1.merged.json").read_text())
    for module in ("core", "germplasm")
}
WORKED_EXAMPLES = json.loads((FOLDER / "pedigree-worked-examples.json").read_text())
ROOT = "/brapi/v2/"


def published(path: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the module that describes a call, and the call."""
    route = resolve(path).route.removeprefix("brapi/v2/").replace("<str:", "{").replace(">", "}")
    for module in MODULES.values():
        if f"/{route}" in module["paths"]:
            return module, module["paths"][f"/{route}"]["get"]
    raise LookupError(f"the standard has no call {route}")


def referred(module: dict[str, Any], schema: dict[str, Any]) -> dict[str, Any]:
    while "$ref" in schema:
        found: Any = module
        for part in schema["$ref"].removeprefix("#/").split("/"):
            found = found[part]
        schema = found
    return schema


def schema_of_answer(path: str) -> tuple[dict[str, Any], dict[str, Any]]:
    module, call = published(path)
    answer = referred(module, call["responses"]["200"])
    return module, answer["content"]["application/json"]["schema"]


def judge(path: str, answer: Any) -> None:
    """Hold an answer against the published schema: its types, and that no key is made up."""
    module, schema = schema_of_answer(path)
    jsonschema.Draft202012Validator(
        {**schema, "components": module["components"]},
        format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER,
    ).validate(answer)
    made_up = sorted(set(_made_up(module, schema, answer, "")))
    assert not made_up, f"keys the standard does not know: {made_up}"


def _made_up(module: dict[str, Any], schema: dict[str, Any], value: Any, path: str):
    schema = referred(module, schema)
    if isinstance(value, list):
        for item in value:
            yield from _made_up(module, schema.get("items", {}), item, f"{path}[]")
    if not isinstance(value, dict) or "additionalProperties" in schema:
        return
    known = _properties(module, schema)
    for key, inner in value.items():
        if key not in known:
            yield f"{path}.{key}"
        else:
            yield from _made_up(module, known[key], inner, f"{path}.{key}")


def _properties(module: dict[str, Any], schema: dict[str, Any]) -> dict[str, Any]:
    schema = referred(module, schema)
    known = dict(schema.get("properties", {}))
    for part in schema.get("allOf", []):
        known |= _properties(module, part)
    return known
