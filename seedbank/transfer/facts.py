"""The columns of a table, and the reading of its cells, made from what is declared of a record."""

from collections.abc import Callable, Collection
from typing import Any

from django.db import models

from crosses.base.countries import COUNTRY_NAMES
from crosses.base.facts import Fact, RecordFacts
from crosses.calc.errors import BadInput
from seedbank.formats.tables import Column, Shape
from seedbank.transfer.cells import Cells


def columns_of(declared: RecordFacts, *, by_hand: Collection[str] = ()) -> tuple[Column, ...]:
    return tuple(_column(declared, fact) for fact in _imported(declared, by_hand))


def read_facts(
    cells: Cells, declared: RecordFacts, *, by_hand: Collection[str] = ()
) -> dict[str, Any]:
    """Read what a row says of a record; an empty cell says what the record's field begins with."""
    return {fact.name: _read(cells, declared, fact) for fact in _imported(declared, by_hand)}


def said_facts(cells: Cells, declared: RecordFacts, facts: dict[str, Any]) -> dict[str, Any]:
    """Keep of facts what the file has a column for."""
    headings = {fact.name: fact.column for fact in declared}
    return {name: value for name, value in facts.items() if cells.has(headings.get(name, name))}


def _imported(declared: RecordFacts, by_hand: Collection[str]) -> list[Fact]:
    return [fact for fact in declared if fact.is_imported and fact.name not in by_hand]


def _column(declared: RecordFacts, fact: Fact) -> Column:
    shape = _shape(declared.field(fact))
    is_choice, is_whole = shape is Shape.CHOICE, shape is Shape.WHOLE
    return Column(
        fact.column,
        fact.also,
        required=declared.is_needed(fact),
        help=fact.cell or f"{fact.full_label}.",
        shape=shape,
        choices=_choices(declared.field(fact)) if is_choice else (),
        minimum=int(declared.bounds(fact).least or 0) if is_whole else 0,
    )


def _shape(field: "models.Field[Any, Any]") -> Shape:
    if field.choices and not _is_country(field):
        return Shape.CHOICE
    for kind, shape in _SHAPES:
        if isinstance(field, kind):
            return shape
    return Shape.TEXT


_SHAPES: tuple[tuple[Any, Shape], ...] = (
    (models.DateField, Shape.DATE),
    (models.TimeField, Shape.TIME),
    (models.BooleanField, Shape.YES_NO),
    (models.IntegerField, Shape.WHOLE),
    (models.DecimalField, Shape.DECIMAL),
    (models.FloatField, Shape.DECIMAL),
)


def _is_country(field: "models.Field[Any, Any]") -> bool:
    """A country is written by its two letters; a list of all would help nobody."""
    return {value for value, _words in field.flatchoices} - {""} == set(COUNTRY_NAMES)


def _country(cells: Cells, column: str) -> str:
    country = cells.text(column).upper()
    if country not in COUNTRY_NAMES:
        raise BadInput(
            f"'{country}' is no country; write its two letters, such as GB.", field=column
        )
    return country


def _choices(field: "models.Field[Any, Any]") -> tuple[str, ...]:
    return tuple(str(value) for value, _words in field.flatchoices if value)


def _read(cells: Cells, declared: RecordFacts, fact: Fact) -> Any:
    field, column = declared.field(fact), fact.column
    start = field.get_default() if field.has_default() else None
    if not cells.raw(column):
        if declared.is_needed(fact):
            raise BadInput("This cell is empty; it is needed.", field=column)
        # An empty text is "", whatever else is empty is nothing said.
        return start if field.has_default() or field.null else field.get_default()
    if _is_country(field):
        return _country(cells, column)
    shape = _shape(field)
    if shape is Shape.CHOICE:
        return cells.choice(column, _choices(field), "")
    if shape is Shape.WHOLE:
        return cells.whole(column, minimum=int(declared.bounds(fact).least or 0))
    if shape is Shape.DECIMAL and isinstance(field, models.FloatField):
        return float(cells.decimal(column) or 0)
    return _READERS[shape](cells, column)


_READERS: dict[Shape, Callable[[Cells, str], Any]] = {
    Shape.DATE: Cells.day,
    Shape.TIME: Cells.time,
    Shape.YES_NO: Cells.yes_no,
    Shape.DECIMAL: Cells.decimal,
    Shape.TEXT: Cells.text,
}
