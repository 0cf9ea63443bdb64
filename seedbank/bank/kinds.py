"""Which kinds are in a lot, and what can hurt who handles its seed."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from crosses.models import PollenShare
from crosses.queries.kinds import (
    Kinds,
    distinct,
    hazards_of,
    hazards_of_genera,
    kinds_above,
    kinds_named,
)
from seedbank.bank.models import CautionRule, Lot


@dataclass(frozen=True, slots=True)
class LotKinds:
    """What a lot is, and what the plants it comes from are, the nearest first."""

    own: Kinds
    ancestors: Kinds


def kinds_of_lots(lots: Iterable[Lot]) -> dict[int, LotKinds]:
    """Return the kinds by lot, ancestors as far back as they are recorded.

    The lots come with their taxon loaded; a few queries a generation, however many lots.
    """
    known = list(lots)
    parents = _parents_of_lots([lot.pk for lot in known])
    above = kinds_above({number for numbers in parents.values() for number in numbers})
    return {
        lot.pk: LotKinds(
            own=kinds_named(lot.name_text, lot.taxon),
            ancestors=distinct(kind for number in parents[lot.pk] for kind in above[number]),
        )
        for lot in known
    }


def hazards_of_lots(lots: Iterable[Lot]) -> dict[int, str]:
    """Return what can hurt, by lot: the lot's own note, else what its kinds and ancestors bear.

    A cross with a poisonous plant far back says so, and names it. What the society has written of
    a genus goes before the general words of the rule of poisonous seed.
    """
    known = list(lots)
    return _hazards(known, kinds_of_lots(known), _rules_with_label_words())


def cautions_of_lots(lots: Iterable[Lot]) -> dict[int, str]:
    """Return what list, label and slip carry, by lot: its hazards, and that a kind is protected."""
    known = list(lots)
    kinds, rules = kinds_of_lots(known), _rules_with_label_words()
    hazards = _hazards(known, kinds, rules)
    others = [_by_genus(rule) for rule in rules if rule.kind != CautionRule.Kind.POISONOUS]
    cautions = {}
    for lot in known:
        about = kinds[lot.pk]
        genera = [kind.genus for kind in (*about.own, *about.ancestors)]
        marks = (words[genus] for words in others for genus in genera if genus in words)
        cautions[lot.pk] = " ".join(filter(None, [hazards[lot.pk], *dict.fromkeys(marks)]))
    return cautions


def caution_of(lot: Lot) -> str:
    return cautions_of_lots([lot])[lot.pk]


def _in_words(kinds: LotKinds, of_genus: dict[str, str]) -> str:
    own = hazards_of(kinds.own, of_genus)
    inherited = hazards_of(kinds.ancestors, of_genus)
    return " ".join(
        [
            *own,
            *(
                f"{note} (From {name} among its ancestors.)"
                for note, name in inherited.items()
                if note not in own
            ),
        ]
    )


def _rules_with_label_words() -> list[CautionRule]:
    return list(CautionRule.objects.filter(withdrawn_at=None).exclude(label_words=""))


def _by_genus(rule: CautionRule) -> dict[str, str]:
    """Return what a rule puts on packets, by genus in small letters."""
    return dict.fromkeys((genus.lower() for genus in rule.genera), rule.label_words)


def _hazards(
    lots: Iterable[Lot], kinds: dict[int, LotKinds], rules: Iterable[CautionRule]
) -> dict[int, str]:
    of_genus: dict[str, str] = {}
    for rule in rules:
        if rule.kind == CautionRule.Kind.POISONOUS:
            of_genus |= _by_genus(rule)
    of_genus |= hazards_of_genera()
    return {lot.pk: lot.hazard_note or _in_words(kinds[lot.pk], of_genus) for lot in lots}


def _parents_of_lots(lots: list[int]) -> dict[int, list[str]]:
    """Return the numbers of the plants that seed was raised from, seed parent first."""
    parents: dict[int, list[str]] = {lot: [] for lot in lots}
    crosses: dict[int, list[int]] = defaultdict(list)
    raised = Lot.objects.filter(pk__in=lots, harvest__isnull=False)
    for lot, cross, seed_parent, pollen_parent in raised.values_list(
        "pk",
        "harvest__cross_id",
        "harvest__cross__seed_parent__number",
        "harvest__cross__pollen_parent__number",
    ):
        parents[lot] += [number for number in (seed_parent, pollen_parent) if number]
        crosses[cross].append(lot)
    shares = PollenShare.objects.filter(cross__in=crosses).order_by("pk")
    for cross, number in shares.values_list("cross_id", "plant__number"):
        for lot in crosses[cross]:
            parents[lot].append(number)
    return parents
