"""The recipe of DEVELOPERS.md, "Add a field, end to end", followed for every declared record."""

import os
import shutil
import sqlite3
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest
from django.conf import settings

ROOT = Path(__file__).resolve().parents[2]
COPIED = ("crosses", "seedbank", "templates", "tests", "manage.py", "pyproject.toml", "fixtures")
FIELD = "    humidity_percent = models.PositiveSmallIntegerField(null=True, blank=True)\n"
FACT = '        Fact(name="humidity_percent", label="Humidity", unit="%"),\n'
RULE = """            models.CheckConstraint(
                condition=Q(humidity_percent__isnull=True) | Q(humidity_percent__lte=100),
                name="plant_humidity_is_percent",
                violation_error_message="Humidity is between 0 and 100 percent.",
            ),
"""
TYPED = "{{ form.humidity_percent.as_field_group }}"


@dataclass(frozen=True)
class Recipe:
    """Where a record's model, declaration and templates are; a page that shows a whole form has it."""

    model: str
    declared: str
    typed: tuple[str, str] | None = None
    shown: tuple[str, str, str] | None = None


FACTS_LIST = '<dl class="facts">'
RECIPES = {
    "Plant": Recipe(
        "crosses/models/plant.py",
        "crosses/facts/plant.py",
        ("crosses/plant/_fields.html", "{{ form.fertility_notes.as_field_group }}"),
        ("crosses/plant/detail.html", FACTS_LIST, "plant"),
    ),
    "Cross": Recipe(
        "crosses/models/cross.py",
        "crosses/facts/cross.py",
        None,
        ("crosses/cross/detail.html", FACTS_LIST, "cross"),
    ),
    "Pollination": Recipe(
        "crosses/models/pollination.py",
        "crosses/facts/pollination.py",
        ("crosses/pollination/_facts_fields.html", "{{ form.note.as_field_group }}"),
        ("crosses/pollination/detail.html", FACTS_LIST, "pollination"),
    ),
    "Check": Recipe(
        "crosses/models/capsule.py",
        "crosses/facts/capsule.py",
        ("crosses/capsule/check.html", "{{ form.note.as_field_group }}"),
        ("crosses/capsule/_checks.html", "{{ check.get_kind_display }}", "check"),
    ),
    "Harvest": Recipe(
        "crosses/models/harvest.py",
        "crosses/facts/harvest.py",
        ("crosses/harvest/_seeds_fields.html", "{{ form.clean_grams.as_field_group }}"),
        ("crosses/harvest/detail.html", FACTS_LIST, "harvest"),
    ),
    "Lot": Recipe(
        "seedbank/bank/models/lot.py",
        "seedbank/bank/facts.py",
        ("bank/lot/_form.html", "{{ form.note.as_field_group }}"),
        ("bank/lot/_facts.html", FACTS_LIST, "facts.lot"),
    ),
    "Packet": Recipe(
        "seedbank/bank/models/packet.py",
        "seedbank/bank/facts.py",
        None,
        ("web/packet.html", FACTS_LIST, "chain.packet"),
    ),
    "Donation": Recipe(
        "seedbank/bank/models/donation.py",
        "seedbank/bank/facts.py",
        ("bank/donation/offer.html", "{{ form.note.as_field_group }}"),
        ("bank/donation/detail.html", "{{ donation.note }}{% endif %}", "donation"),
    ),
    "Place": Recipe("seedbank/bank/models/place.py", "seedbank/bank/facts.py"),
    "Sowing": Recipe(
        "seedbank/sowings/models.py",
        "seedbank/sowings/facts.py",
        ("sowings/sowing/add.html", "{{ form.note.as_field_group }}"),
        ("sowings/sowing/detail.html", FACTS_LIST, "sowing"),
    ),
    "Count": Recipe(
        "seedbank/sowings/models.py",
        "seedbank/sowings/facts.py",
        None,
        ("sowings/sowing/detail.html", "<td>{{ look.count.note }}</td>", "look.count"),
    ),
    "ListLine": Recipe("seedbank/exchange/models/listing.py", "seedbank/exchange/facts.py"),
}


def put_in(path: Path, after: str, new: str, *, begin: str = "", before: bool = False) -> None:
    """Write something behind (or before) the first place of a text that follows `begin`."""
    text = path.read_text()
    place = text.index(after, text.index(begin) + len(begin) if begin else 0)
    place += 0 if before else len(after)
    path.write_text(text[:place] + new + text[place:])


def follow(recipe: Recipe, name: str, tree: Path) -> None:
    """Add the fact to one record, by the recipe and by nothing else."""
    put_in(tree / recipe.model, "    class Meta", FIELD, begin=f"class {name}(", before=True)
    declared = f"RecordFacts(\n    {name},"
    put_in(tree / recipe.declared, "    facts=(\n", FACT, begin=declared)
    templates = tree / "templates"
    if recipe.typed is not None:
        file, after = recipe.typed
        put_in(templates / file, after, TYPED)
    if recipe.shown is not None:
        file, after, record = recipe.shown
        put_in(templates / file, after, f"<dd>humidity {{{{ {record}.humidity_percent }}}}</dd>")


@pytest.fixture
def tree(tmp_path):
    """A copy of the sources with every record's new fact, and the tests' database of before."""
    ignored = shutil.ignore_patterns("__pycache__", ".pytest_cache", "*.pyc")
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, tmp_path / name, ignore=ignored)
        else:
            shutil.copy(source, tmp_path / name)
    for name, recipe in RECIPES.items():
        follow(recipe, name, tmp_path)
    constraints = "            *Withdrawable.Meta.constraints,\n"
    put_in(tmp_path / "crosses/models/plant.py", constraints, RULE)
    (tmp_path / "var").mkdir()
    there = Path(settings.DATABASES["default"].get("TEST", {}).get("NAME") or "none")
    if there.is_file():
        # The migrations of before need not be carried out again.
        with sqlite3.connect(there) as source, sqlite3.connect(tmp_path / "var/test.sqlite3") as to:
            source.backup(to)
    return tmp_path


@pytest.mark.slow
def test_a_fact_added_by_the_recipe_is_stored_shown_corrected_imported_exported_and_kept(tree):
    told = {"DEBUG": "1", "DATABASE": "sqlite", "VAR_DIR": str(tree / "var")}
    environment = {**os.environ, **told, "PYTHONPATH": str(tree)}

    def run(*words: str) -> None:
        done = subprocess.run(
            [sys.executable, *words],
            cwd=tree,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stdout[-6000:] + done.stderr[-2000:]

    run("manage.py", "makemigrations", "-n", "humidity")
    run(
        "-m",
        "pytest",
        "-q",
        "--reuse-db",
        "-p",
        "no:cacheprovider",
        "tests/architecture/walk_new_facts.py",
    )
