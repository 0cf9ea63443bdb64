"""Walls that import-linter cannot see: string keys, where writes happen, who asks the time."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.apps import apps

ROOT = Path(__file__).resolve().parents[2]
ORDER = ["crosses", "jobs", "members", "bank", "sowings", "exchange"]
# Everybody may point at people.
EVERYBODY = {"members", "auth", "contenttypes"}
WRITES = {
    "create",
    "bulk_create",
    "bulk_update",
    "update",
    "delete",
    "save",
    "get_or_create",
    "update_or_create",
}


def python_files(*folders: str) -> Iterator[Path]:
    for folder in folders:
        for path in sorted((ROOT / folder).rglob("*.py")):
            if "migrations" not in path.parts:
                yield path


def test_records_point_only_down_the_way_that_seed_travels():
    upward = [
        f"{model._meta.label}.{field.name}"
        for model in apps.get_models()
        if model._meta.app_label in ORDER
        for field in model._meta.get_fields()
        if field.concrete and field.is_relation and field.related_model is not None
        for other in [field.related_model._meta.app_label]
        if other not in EVERYBODY
        and (other not in ORDER or ORDER.index(other) > ORDER.index(model._meta.app_label))
    ]
    assert upward == []


def test_views_forms_and_api_neither_query_nor_write():
    faults = []
    for path in python_files("crosses", "seedbank"):
        where = path.relative_to(ROOT)
        if not ({"views", "api"} & set(where.parts) or where.name in {"views.py", "forms.py"}):
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Attribute) and node.attr == "objects":
                faults.append(f"{where}:{node.lineno} asks .objects; go through access or queries")
            is_write = (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Attribute)
                and node.func.attr in WRITES
            )
            # A dictionary's update, a form's or a session's save and a signed cookie's delete are no writes of records.
            if is_write and ast.unparse(node.func.value).split(".")[-1].lower() not in {
                "attrs",
                "session",
                "cache",
            }:
                owner = ast.unparse(node.func.value)
                if not owner.endswith(("kwargs", "context", "data", "headers", "values", "params")):
                    faults.append(
                        f"{where}:{node.lineno} writes ({owner}.{node.func.attr}); that is an action's work"
                    )
    assert faults == []


def test_only_the_clock_asks_what_time_it_is():
    faults = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in python_files("crosses", "seedbank")
        if path.name != "clock.py"
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Call)
        and ast.unparse(node.func)
        in {
            "timezone.now",
            "timezone.localdate",
            "datetime.now",
            "date.today",
            "datetime.datetime.now",
            "datetime.date.today",
        }
    ]
    assert faults == []


def test_no_file_is_longer_than_a_reader_holds():
    data_files = {"countries.py"}
    # Stories of one act stand side by side in a test, so its file may run a little longer.
    most = {"crosses": 400, "seedbank": 400, "tests": 450}
    long_files = [
        f"{path.relative_to(ROOT)}: {lines} lines"
        for folder, limit in most.items()
        for path in python_files(folder)
        if path.name not in data_files and (lines := len(path.read_text().splitlines())) > limit
    ]
    assert long_files == []


@pytest.mark.parametrize(
    "folder", ["crosses/calc", "crosses/formats", "seedbank/calc", "seedbank/formats"]
)
def test_reckoning_runs_without_django(folder):
    import subprocess
    import sys

    modules = [
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        for path in python_files(folder)
        if path.name != "__main__.py"
    ]
    code = "import importlib, sys\nfor name in sys.argv[1:]: importlib.import_module(name)\nsys.exit('django' in sys.modules)"
    assert (
        subprocess.run([sys.executable, "-c", code, *modules], cwd=ROOT, check=False).returncode
        == 0
    )


def test_historied_records_are_never_changed_behind_their_history():
    """`queryset.update()` leaves no line of history; the two files named keep derived columns, not what a person typed."""
    faults = []
    for path in python_files("crosses", "seedbank"):
        for node in ast.walk(ast.parse(path.read_text())):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Attribute)
                and node.func.attr == "update"
            ):
                owner = ast.unparse(node.func.value)
                if ".objects" in owner and not any(
                    plain in owner
                    for plain in (
                        "NumberSeries",
                        "ApiToken",
                        "Replicate",
                        "Packet",
                        "ParcelItem",
                        "Job",
                        "Worker",
                    )
                ):
                    faults.append(f"{path.relative_to(ROOT)}:{node.lineno} {owner}")
    assert faults == []


def test_pages_are_shown_by_the_one_that_says_what_was_refused():
    """`show` answers a refused form with 422 and a summary; these pages have no such form."""
    without_forms = {"find.py", "export.py", "offline.py", "transfer.py", "guide.py"}
    faults = [
        str(path.relative_to(ROOT))
        for path in python_files("crosses", "seedbank")
        if ("views" in path.parts or path.name == "views.py") and path.name not in without_forms
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.ImportFrom)
        and node.module == "django.shortcuts"
        and any(name.name == "render" for name in node.names)
    ]
    assert faults == [], "show it by crosses.base.pages.show"
