"""The facts of a record, declared once; forms, API, import and acts are made from them.

What a fact is like (its shape, bounds, choices, whether it is needed) the model's own field and
constraints say; a declaration adds what a model cannot say: how people and scripts call it, who may
see it, when it may be written.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.db.models import CheckConstraint, Field, Model, Q

# What both databases hold, and more than anybody has.
MOST_IN_A_SMALL_NUMBER = 32_000
MOST_IN_A_NUMBER = 2_000_000_000


@dataclass(frozen=True, kw_only=True)
class Fact:
    """One fact: the field's name first, then what it is called and where it is typed and told.

    `api` and `heading` are its names in the API and in tables where those are not the field's;
    `told` is what the API says of it, `cell` what a table says of its column.
    """

    name: str
    label: str
    unit: str = ""
    help: str = ""
    when_made: bool = True
    when_corrected: bool = True
    for_owner_only: bool = False
    api: str = ""
    told: str = ""
    heading: str = ""
    also: tuple[str, ...] = ()
    cell: str = ""
    is_imported: bool = True

    @property
    def api_name(self) -> str:
        return self.api or self.name

    @property
    def column(self) -> str:
        return self.heading or self.name

    @property
    def full_label(self) -> str:
        return f"{self.label}, {self.unit}" if self.unit else self.label


@dataclass(frozen=True)
class Bounds:
    """The least and the most a number may be, and the sentence for another one."""

    least: Any = None
    most: Any = None
    words: str = ""


@dataclass(frozen=True)
class RecordFacts:
    """The facts of one model. `links` are the other records it may be written with.

    `owner` is the path to the key of whose it is; nobody's is the bank's.
    """

    model: type[Model]
    facts: tuple[Fact, ...]
    owner: str = ""
    links: tuple[str, ...] = ()

    def __iter__(self) -> Iterator[Fact]:
        return iter(self.facts)

    def written(self, *, making: bool) -> list[Fact]:
        return [fact for fact in self if (fact.when_made if making else fact.when_corrected)]

    def only(self, *names: str) -> "RecordFacts":
        """Return some of the facts, for a form or table that asks no more."""
        return replace(self, facts=tuple(fact for fact in self if fact.name in names))

    def field(self, fact: Fact) -> "Field[Any, Any]":
        # The documented name of the model's own description of itself.
        field = self.model._meta.get_field(fact.name)  # noqa: SLF001
        assert isinstance(field, Field)  # noqa: S101  a declaration names a column
        return field

    def is_needed(self, fact: Fact) -> bool:
        """Tell whether a record cannot be made without it."""
        field = self.field(fact)
        return not (field.blank or field.null or field.has_default())

    def bounds(self, fact: Fact) -> Bounds:
        """Return what the model's constraints on this field alone allow, and its type holds."""
        found = Bounds()
        for constraint in self.model._meta.constraints:  # noqa: SLF001
            if isinstance(constraint, CheckConstraint):
                limits = dict(_limits(constraint.condition, fact.name))
                if limits:
                    words = str(constraint.violation_error_message)
                    is_own = words != str(constraint.default_violation_error_message)
                    found = Bounds(limits.get("gte"), limits.get("lte"), words if is_own else "")
        least, most = _RANGES.get(self.field(fact).get_internal_type(), (None, None))
        return Bounds(
            least if found.least is None else found.least,
            most if found.most is None else found.most,
            found.words,
        )

    def set_on(self, record: Model, facts: Mapping[str, Any]) -> None:
        """Write facts on a record; what is not declared is a mistake in the code, never dropped."""
        self.refuse_undeclared(facts)
        for name, value in facts.items():
            setattr(record, name, value)

    def refuse_undeclared(self, names: Iterable[str]) -> None:
        strange = sorted(set(names) - {fact.name for fact in self} - set(self.links))
        if strange:
            raise TypeError(f"{self.model.__name__} declares no fact {', '.join(strange)}.")


_RANGES = {
    "PositiveSmallIntegerField": (0, MOST_IN_A_SMALL_NUMBER),
    "PositiveIntegerField": (0, MOST_IN_A_NUMBER),
}


def _limits(condition: Any, name: str) -> Iterator[tuple[str, Any]]:
    """Find what a condition asks of one field, whatever the others hold."""
    if isinstance(condition, tuple):
        path, value = condition
        field, _, lookup = path.partition("__")
        if field == name and lookup in {"gte", "lte"} and not hasattr(value, "resolve_expression"):
            yield lookup, value
    elif _binds(condition, name):
        for child in condition.children:
            yield from _limits(child, name)


def _binds(condition: Any, name: str) -> bool:
    """Tell whether what stands in a condition holds whatever other fields say."""
    if not isinstance(condition, Q) or condition.negated:
        return False
    return condition.connector == Q.AND or _names(condition) == {name}


def _names(condition: Any) -> set[str]:
    if isinstance(condition, tuple):
        return {condition[0].partition("__")[0]}
    return {name for child in condition.children for name in _names(child)}
