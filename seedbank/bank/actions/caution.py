"""The society's rules of caution: who changes one says why, and what it said before is kept."""

import datetime
from typing import Any

from django.db import IntegrityError, transaction

from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from crosses.base.withdrawal import withdraw
from seedbank.bank.models import CautionRule
from seedbank.members.models import Member


@transaction.atomic
def add_rule(*, by: Member, **facts: Any) -> CautionRule:
    return _save(CautionRule(**facts), by=by, why="Added.")


@transaction.atomic
def change_rule(*, changed: CautionRule, by: Member, why: str, **facts: Any) -> CautionRule:
    if changed.is_withdrawn:
        raise Refused("rule-withdrawn", "This rule is withdrawn; add another in its place.")
    for name, value in facts.items():
        setattr(changed, name, value)
    return _save(changed, by=by, why=why)


@transaction.atomic
def withdraw_rule(
    *, rule: CautionRule, by: Member, at: datetime.datetime, reason: str
) -> CautionRule:
    return withdraw(rule, by=by, at=at, reason=reason)


def _save(rule: CautionRule, *, by: Member, why: str) -> CautionRule:
    limits = (rule.most_packets, rule.most_seeds, rule.most_grams)
    if rule.kind == CautionRule.Kind.SMALL_LOTS and None in limits:
        raise Refused(
            "rule-limits", "A rule of small lots needs all three limits.", field="most_packets"
        )
    try:
        with transaction.atomic():
            save_with_history(rule, by=by, why=why)
    except IntegrityError as taken:
        raise Refused(
            "rule-taken", f"There is a rule “{rule.rule}” already.", field="rule"
        ) from taken
    return rule
