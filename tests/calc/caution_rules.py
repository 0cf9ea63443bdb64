"""Rules of caution read from plain records, as the starting list holds them."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from crosses.calc.errors import BadInput
from seedbank.calc.cautions import KINDS, LEVELS, Rule


def read_rules(rows: Iterable[Mapping[str, Any]]) -> tuple[Rule, ...]:
    """Return rules from plain rows, as in ``fixtures/cautions.json``.

    Raises
    ------
    BadInput
        If a rule lacks words, source or date, has an unknown kind or level, or a field nobody
        knows.
    """
    rules = tuple(_read_rule(row) for row in rows)
    names = [rule.rule for rule in rules]
    for name in names:
        if names.count(name) > 1:
            raise BadInput(f"The rule {name} stands in the list twice.", field="rule")
    return rules


def _read_rule(row: Mapping[str, Any]) -> Rule:
    name = str(row.get("rule", ""))
    unknown = sorted(set(row) - set(Rule.__slots__))
    if unknown:
        raise BadInput(f"Rule {name}: the field {unknown[0]} is not known.", field=unknown[0])
    for needed in ("rule", "kind", "level", "words", "source", "checked_on", "checked_by"):
        if not row.get(needed):
            raise BadInput(f"Rule {name or '?'} has no {needed}.", field=needed)
    if row["kind"] not in KINDS:
        raise BadInput(f"Rule {name}: there is no kind {row['kind']}.", field="kind")
    if row["level"] not in LEVELS:
        raise BadInput(f"Rule {name}: there is no level {row['level']}.", field="level")
    try:
        checked_on = date.fromisoformat(row["checked_on"])
    except ValueError as fault:
        raise BadInput(
            f"Rule {name}: {row['checked_on']} is not a date.", field="checked_on"
        ) from fault
    if row["kind"] == "small_lots" and None in (
        row.get("most_packets"),
        row.get("most_seeds"),
        row.get("most_grams"),
    ):
        raise BadInput(f"Rule {name} needs all three limits of small lots.", field="most_packets")
    sets = {
        field: frozenset(row.get(field, ())) for field in ("destinations", "unless_from", "genera")
    }
    return Rule(**{**row, **sets, "checked_on": checked_on})
