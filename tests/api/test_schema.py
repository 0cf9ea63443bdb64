"""The schema is whole, and the answers are what it says."""

import json
from typing import Any

import jsonschema
import pytest
from django.core.management import call_command

from tests.factories.bank import packets_of
from tests.factories.sowings import make_sowing

pytestmark = pytest.mark.django_db

ROOT = "/api/v1/"


@pytest.fixture(scope="module")
def schema(tmp_path_factory) -> Any:
    path = tmp_path_factory.mktemp("schema") / "schema.json"
    call_command(
        "spectacular", validate=True, fail_on_warn=True, format="openapi-json", file=str(path)
    )
    return json.loads(path.read_text())


def test_the_schema_is_of_the_version_it_says(schema):
    assert schema["openapi"].startswith("3.1")


@pytest.mark.parametrize(
    ("path", "query"),
    [
        ("germination/", ""),
        ("germination/summary/", "group_by=seed_parent,treatment"),
        ("packets/", ""),
        ("lots/", ""),
        ("crosses/", ""),
        ("plants/", ""),
        ("sowings/", ""),
        ("me/", ""),
    ],
)
def test_an_answer_is_what_the_schema_says(
    schema, path, query, tansy, with_key, lemon_sowing, lemon_lot
):
    make_sowing(tansy)
    packets_of(lemon_lot)
    told = with_key(tansy).get(f"{ROOT}{path}?{query}").json()
    described = schema["paths"][ROOT + path]["get"]["responses"]["200"]
    said = described["content"]["application/json"]["schema"]
    jsonschema.validate(told, {**said, "components": schema["components"]})
    assert told


def test_the_chain_is_what_the_schema_says(schema, tansy, with_key, lemon_sowing):
    told = with_key(tansy).get(f"{ROOT}packets/{lemon_sowing.packet.number}/").json()
    said = {"$ref": "#/components/schemas/Chain", "components": schema["components"]}
    jsonschema.validate(told, said)


@pytest.mark.parametrize("kind", ["plant", "lot", "cross", "germination", "sowing"])
def test_one_record_is_what_the_schema_says(schema, kind, tansy, with_key, lemon_sowing, lemon_lot):
    cross = lemon_lot.harvest.cross
    number = {
        "plant": cross.seed_parent.number,
        "lot": lemon_lot.number,
        "cross": cross.number,
    }.get(kind, lemon_sowing.number)
    path = {"germination": "germination/{number}/", "cross": "crosses/{number}/"}.get(
        kind, f"{kind}s/{{number}}/"
    )
    told = with_key(tansy).get(f"{ROOT}{path.format(number=number)}").json()
    described = schema["paths"][ROOT + path]["get"]["responses"]["200"]
    said = described["content"]["application/json"]["schema"]
    jsonschema.validate(told, {**said, "components": schema["components"]})
    assert told


def test_every_filter_says_what_it_is_for(schema):
    silent = [
        f"{path} {parameter['name']}"
        for path, methods in schema["paths"].items()
        for parameter in methods.get("get", {}).get("parameters", [])
        if not parameter.get("description") and parameter["name"] != "format"
    ]
    assert silent == []
