"""The documents say what the code does: every setting in the README, every command in the Makefile."""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
READERS = {
    node.name
    for node in ast.parse((ROOT / "seedbank/environment.py").read_text()).body
    if isinstance(node, ast.FunctionDef)
}


def _settings_read() -> set[str]:
    tree = ast.parse((ROOT / "seedbank/settings.py").read_text())
    return {
        node.args[0].value
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in READERS
        if isinstance(node.args[0], ast.Constant)
    }


def test_every_setting_stands_in_the_readme_and_no_other():
    table = (ROOT / "README.md").read_text().split("| variable |")[1]
    names = [row.split("|")[1] for row in table.split("\n\n")[0].splitlines() if row.count("|") > 2]
    written = {name for cell in names for name in re.findall(r"`([A-Z][A-Z_]+)`", cell)}
    read = _settings_read()
    assert written - {name for name in written if name.endswith("_FILE")} - {"DEBUG"} == read - {
        "DEBUG"
    }


def test_every_word_of_make_that_the_documents_name_exists():
    makefile = (ROOT / "Makefile").read_text()
    targets = set(re.findall(r"^([a-z-]+):", makefile, re.MULTILINE))
    named = {
        word
        for name in ("README.md", "DEVELOPERS.md")
        for words in re.findall(r"`make ([a-z -]+)`", (ROOT / name).read_text())
        for word in words.split()
    }
    assert named
    assert named <= targets


def test_the_top_level_holds_what_was_agreed_and_nothing_else():
    import subprocess

    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    top = {path.split("/")[0] for path in listed if not path.startswith(".")}
    assert top == {
        "manage.py", "pyproject.toml", "README.md", "DEVELOPERS.md", "Makefile", "LICENSE", "requirements.lock",
        "seedbank", "crosses", "templates", "tests", "fixtures",
    }  # fmt: skip
