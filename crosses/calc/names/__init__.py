"""Reading and writing the names of plants and crosses: seed parent first, always.

The forms follow the International Code of Nomenclature for algae, fungi, and plants (Shenzhen,
chapter H) and the International Code of Nomenclature for Cultivated Plants (ninth edition).
"""

from crosses.calc.names.epithets import check_cultivar_epithet, sort_key
from crosses.calc.names.nodes import (
    AsTyped,
    Epithet,
    Formula,
    Mixture,
    Name,
    Node,
    Unnamed,
    formula,
)
from crosses.calc.names.reader import read_name, read_or_plain
from crosses.calc.names.writer import Run, write_name, write_runs

__all__ = [
    "AsTyped",
    "Epithet",
    "Formula",
    "Mixture",
    "Name",
    "Node",
    "Run",
    "Unnamed",
    "check_cultivar_epithet",
    "formula",
    "read_name",
    "read_or_plain",
    "sort_key",
    "write_name",
    "write_runs",
]
