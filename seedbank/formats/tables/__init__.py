"""Tables as people make them: CSV and XLSX in, CSV and XLSX out.

Reading gives the cells as text with the row numbers a spreadsheet shows; what a cell means is read
from it by the functions of `cells`, and which column is which by `match_columns`.
"""

from seedbank.formats.tables.cells import (
    looks_like_formula,
    read_choice,
    read_date,
    read_decimal,
    read_relative_date,
    read_text,
    read_time,
    read_whole_number,
    read_yes_no,
)
from seedbank.formats.tables.columns import AbsentColumn, Column, ColumnMatch, Shape, match_columns
from seedbank.formats.tables.reading import read_table
from seedbank.formats.tables.table import DEFAULT_LIMITS, Limits, Problem, Row, Table
from seedbank.formats.tables.writing import write_csv, write_xlsx

__all__ = [
    "DEFAULT_LIMITS",
    "AbsentColumn",
    "Column",
    "ColumnMatch",
    "Limits",
    "Problem",
    "Row",
    "Shape",
    "Table",
    "looks_like_formula",
    "match_columns",
    "read_choice",
    "read_date",
    "read_decimal",
    "read_relative_date",
    "read_table",
    "read_text",
    "read_time",
    "read_whole_number",
    "read_yes_no",
    "write_csv",
    "write_xlsx",
]
