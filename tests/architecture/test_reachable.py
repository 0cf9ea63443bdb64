"""No reader meets code that no page, address, command or script can reach.

The walk begins where the world comes in (addresses, the admin, commands, settings, records and their
migrations) and follows names as they are imported. What only tests call is deleted, or lies with them.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("crosses", "seedbank")
WAYS_IN = {"urls", "apps", "admin", "settings", "wsgi", "__main__"}
FOLDERS_IN = {"management", "templatetags", "migrations", "models"}

# Reached by no page: offered to whoever reckons with these modules in a notebook or a benchmark, each with
# what it is for. The list only shrinks: whoever gives one its panel takes it off, and nothing comes on.
OFFERED = {
    "crosses.calc.pedigree.kinship.inbreeding": "of a whole society's pedigree at once",
    "crosses.calc.pedigree.lineage.descendants": "the other way of `ancestors`",
    "crosses.calc.pedigree.lineage.generation_depth": "of one plant, beside `generations` of many",
    "crosses.queries.pedigree.society_pedigree": "the pedigree that `inbreeding` is asked of",
    "crosses.queries.fertility.forget_models": "the tests' own door: histories begin anew with each",
    "crosses.calc.names.epithets.check_cultivar_epithet": "the rules of a new name, told before one is given",
    "seedbank.calc.packetstate.state_of": "the judge of every packet's kept state",
    "seedbank.calc.packetstate.balance": "the judge of the kept counts of packets",
    "crosses.calc.pedigree.shares.composition_table": "of a whole society at once",
    "crosses.calc.pedigree.shares.founder_share_table": "of a whole society at once",
    "crosses.calc.pedigree.lines.inbreeding_by_lines": "how `inbreeding` goes where lines are wide",
    "crosses.calc.windows.belief.narrowed": "one level of a belief, as its formulas are published",
    "crosses.calc.windows.forecast.forecast": "one capsule by itself, as its formulas are published",
    "crosses.calc.windows.forecast.look_again_on": "the day after such a forecast",
    "seedbank.calc.germination.compare.difference_of_shares": "two shares, with the interval of Newcombe",
    "seedbank.calc.germination.replicates.check_two_tests": "two tests against the table of differences",
    "seedbank.calc.germination.replicates.heterogeneity": "pots of one kind against chance",
    "seedbank.calc.germination.tolerance.maximum_difference": "the table of differences itself",
    "seedbank.calc.packetplan.packet_size": "seeds a packet by germination",
    "seedbank.calc.packetplan.seeds_needed": "the binomial behind it",
    "seedbank.calc.viability.genebank.most_seeds_to_test": "what a test may spend",
    "seedbank.calc.viability.genebank.regeneration_verdict": "the latest test against the first",
    "seedbank.calc.viability.thumbrules.storage_sum": "the rule of thumb for a store",
    "seedbank.api.schema.KeyInSchema": "found by the schema's library by its base class",
}


class House:
    """All modules, what each defines, and what its names stand for."""

    def __init__(self) -> None:
        self.trees = {
            _name(path): ast.parse(path.read_text())
            for package in PACKAGES
            for path in (ROOT / package).rglob("*.py")
        }
        self.defined: dict[tuple[str, str], ast.stmt] = {}
        self.imported: dict[str, dict[str, tuple[str, str]]] = {}
        for module, tree in self.trees.items():
            self.imported[module] = dict(self._imports(tree))
            for node in tree.body:
                for name in _names_of(node):
                    self.defined[module, name] = node
        self.reached: set[tuple[str, str]] = set()
        self.entered: set[str] = set()
        self._waiting: list[tuple[str, ast.AST]] = []

    def _imports(self, tree: ast.Module) -> Iterator[tuple[str, tuple[str, str]]]:
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module:
                for alias in node.names:
                    whole = f"{node.module}.{alias.name}"
                    of_module = (whole, "") if whole in self.trees else (node.module, alias.name)
                    yield alias.asname or alias.name, of_module

    def walk(self) -> None:
        for module in self.trees:
            parts = module.split(".")
            if parts[-1] in WAYS_IN or FOLDERS_IN & set(parts):
                self._enter(module)
                for of_module, name in self.defined:
                    if of_module == module:
                        self._reach(module, name)
        while self._waiting:
            module, node = self._waiting.pop()
            self._follow(module, node)

    def _enter(self, module: str) -> None:
        """What is imported runs its module from top to bottom, its packages too."""
        if module not in self.trees or module in self.entered:
            return
        self.entered.add(module)
        for node in self.trees[module].body:
            if not isinstance(node, ast.FunctionDef | ast.ClassDef | ast.Assign | ast.AnnAssign):
                self._waiting.append((module, node))
            elif isinstance(node, ast.FunctionDef | ast.ClassDef) and node.decorator_list:
                self._reach(module, node.name)
        self._enter(module.rpartition(".")[0])

    def _reach(self, module: str, name: str) -> None:
        if not name:
            self._enter(module)
        elif (module, name) in self.defined and (module, name) not in self.reached:
            self.reached.add((module, name))
            self._enter(module)
            self._waiting.append((module, self.defined[module, name]))

    def _stands_for(self, module: str, name: str) -> tuple[str, str] | None:
        for _ in range(10):
            if (module, name) in self.defined or name not in self.imported.get(module, {}):
                break
            module, name = self.imported[module][name]
            if not name:
                return module, ""
        return (module, name) if (module, name) in self.defined else None

    def _follow(self, module: str, node: ast.AST) -> None:
        for part in ast.walk(node):
            if isinstance(part, ast.Name):
                found = self._stands_for(module, part.id)
                if found:
                    self._reach(*found)
            elif isinstance(part, ast.Attribute) and isinstance(part.value, ast.Name):
                found = self._stands_for(module, part.value.id)
                if found and not found[1]:
                    inner = self._stands_for(found[0], part.attr)
                    if inner:
                        self._reach(*inner)
            elif isinstance(part, ast.ImportFrom) and part.module in self.trees:
                self._enter(part.module)
            elif isinstance(part, ast.Constant) and isinstance(part.value, str):
                for word in re.findall(r"(?:crosses|seedbank)(?:\.\w+)+", part.value):
                    of_module, _, name = word.rpartition(".")
                    self._enter(word)
                    self._reach(of_module, name)


def _name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _names_of(node: ast.stmt) -> list[str]:
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        return [node.name]
    targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
    return [target.id for target in targets if isinstance(target, ast.Name)]


def test_whatever_is_public_is_reached_by_somebody():
    house = House()
    house.walk()
    unreached = {
        f"{module}.{name}"
        for (module, name), node in house.defined.items()
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        and not name.startswith("_")
        and (module, name) not in house.reached
    }
    assert len(house.reached) > 2000
    assert sorted(unreached - set(OFFERED)) == []
    assert sorted(set(OFFERED) - unreached) == [], "reached by now: take it off the list"
