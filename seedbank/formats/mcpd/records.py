"""One accession after another: read from the cells of a row, and written as a row."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from crosses.base.countries import ALPHA_3
from crosses.calc.errors import BadInput
from seedbank.formats.mcpd.descriptors import BY_NAME, DESCRIPTORS, Descriptor, Shape
from seedbank.formats.mcpd.values import PartialDate, read_degrees, read_partial_date
from seedbank.formats.tables import read_decimal, read_text, read_whole_number

Value = str | PartialDate | Decimal | int | tuple[str, ...]
Passport = Mapping[str, Value]
"""The known fields of one accession by the name of their descriptor; unknown ones are left out."""

HEADER: tuple[str, ...] = tuple(each.name for each in DESCRIPTORS)
_COUNTRIES = frozenset(ALPHA_3.values())
_SPECIES = re.compile(r"(× ?)?[a-zà-ÿ][a-zà-ÿ-]*|sp\.")


@dataclass(frozen=True, slots=True)
class CellProblem:
    field: str
    typed: str
    message: str


def read_passport(cells: Mapping[str, str]) -> tuple[dict[str, Value], list[CellProblem]]:
    """Read the cells of a row by field name; every wrong cell is told, not the first alone."""
    passport: dict[str, Value] = {}
    problems: list[CellProblem] = []
    for name, text in cells.items():
        if not text:
            continue
        try:
            passport[name] = _read(BY_NAME[name], text)
        except BadInput as wrong:
            problems.append(CellProblem(name, text, wrong.message))
    return passport, problems


def _read(field: Descriptor, text: str) -> Value:
    if field.is_several:
        parts = tuple(part.strip() for part in text.split(";") if part.strip())
        if field.codes is not None:
            return tuple(_code(field, part) for part in parts)
        return tuple(read_text(part, field.name) for part in parts)
    return _READERS[field.shape](field, text)


def _code(field: Descriptor, text: str) -> str:
    codes = field.codes or {}
    if text not in codes:
        raise BadInput(
            f"'{text}' is no code of {field.name}: {', '.join(codes)}.", field=field.name
        )
    return text


def _text(field: Descriptor, text: str) -> str:
    return read_text(text, field.name)


def _genus(field: Descriptor, text: str) -> str:
    genus = read_text(text, field.name)
    if not genus.lstrip("× ")[:1].isupper():
        raise BadInput(f"'{text}': a genus begins with a capital letter.", field=field.name)
    return genus


def _species(field: Descriptor, text: str) -> str:
    species = read_text(text, field.name)
    if not _SPECIES.fullmatch(species):
        raise BadInput(
            f"'{text}': a species epithet is one word in lower case, or sp.", field=field.name
        )
    return species


def _country(field: Descriptor, text: str) -> str:
    if text not in _COUNTRIES:
        raise BadInput(
            f"'{text}' is no country; write its three letters, such as GBR.", field=field.name
        )
    return text


def _limited(most: int) -> Callable[[Descriptor, str], Decimal]:
    return lambda field, text: read_decimal(
        text, field.name, minimum=Decimal(-most), maximum=Decimal(most)
    )


def _as_written(digits: int) -> Callable[[Descriptor, str], str]:
    """Keep degrees as they are written: as a number they would lose which digits are known."""

    def read(field: Descriptor, text: str) -> str:
        read_degrees(text, field.name, digits=digits)
        return text

    return read


_READERS: Mapping[Shape, Callable[[Descriptor, str], Value]] = {
    Shape.TEXT: _text,
    Shape.GENUS: _genus,
    Shape.SPECIES: _species,
    Shape.DATE: lambda field, text: read_partial_date(text, field.name),
    Shape.CODE: _code,
    Shape.COUNTRY: _country,
    Shape.LATITUDE: _limited(90),
    Shape.LONGITUDE: _limited(180),
    Shape.DEGREES_NORTH: _as_written(2),
    Shape.DEGREES_EAST: _as_written(3),
    Shape.METRES: lambda field, text: read_whole_number(text, field.name),
}


def write_passports(passports: Iterable[Passport]) -> Iterator[list[str]]:
    """Write each accession as a row under `HEADER`, or refuse what the standard cannot hold.

    A semicolon parts several values of a cell; one inside a value is written as a comma.
    """
    for passport in passports:
        yield [_written(field, passport.get(field.name)) for field in DESCRIPTORS]


def _written(field: Descriptor, value: Value | None) -> str:
    if value is None:
        return ""
    if isinstance(value, tuple):
        text = ";".join(_one_value(part) for part in value)
    elif isinstance(value, Decimal):
        text = f"{value:f}"
    else:
        text = _one_value(str(value))
    if text and field.codes is not None:
        for part in text.split(";"):
            _code(field, part)
    return text


def _one_value(text: str) -> str:
    return " ".join(text.replace(";", ",").split())
