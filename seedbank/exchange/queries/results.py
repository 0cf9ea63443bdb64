"""A sharing-out as keepers and members read it: measures, shortages, and a reason for every wish."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from crosses.base.refusal import Refused
from seedbank.calc.allocation import (
    POLICIES,
    Inputs,
    Measures,
    Result,
    Shortage,
    main_wishes,
    measure,
    outcomes,
    read_inputs,
    records,
    result_document,
    sentences,
    sha256,
    share,
    shortages,
)
from seedbank.exchange.models import AllocationRun, ListLine, Round
from seedbank.exchange.queries.inputs import gather_inputs
from seedbank.members.models import Member


@dataclass(frozen=True, slots=True)
class WishReason:
    """What became of one wish, in one plain sentence."""

    rank: int
    line_number: str
    name: str
    is_reserve: bool
    code: str
    sentence: str


@dataclass(frozen=True, slots=True)
class MyResult:
    """One member's result with the place in the draw."""

    place: int
    of: int
    packets: int
    allowance: int
    reasons: tuple[WishReason, ...]


@dataclass(frozen=True, slots=True)
class PolicyRow:
    """How one policy would have shared out the same wishes by the same draw."""

    policy: str
    words: str
    measures: Measures | None
    why_not: str


@dataclass(frozen=True, slots=True)
class ShortLine:
    shortage: Shortage
    name: str


def inputs_and_result(run: AllocationRun) -> tuple[Inputs, Result]:
    """Reckon a run again from its frozen inputs; a stored result that differs is never shown."""
    inputs = read_inputs(run.inputs.encode())
    result = share(inputs)
    if sha256(result_document(inputs, result)) != run.result_digest:
        raise Refused("not-the-same", f"Run {run.position} does not come out as it was stored.")
    return inputs, result


def last_run(round: Round) -> AllocationRun | None:
    return round.runs.select_related("made_by").order_by("-position").first()


def my_result(run: AllocationRun, member: Member) -> MyResult | None:
    """Return a member's result, or None if they took no part."""
    inputs, result = inputs_and_result(run)
    record = next(
        (each for each in records(inputs, result) if each.member.number == member.number), None
    )
    if record is None:
        return None
    lines = {line.number: line for line in inputs.lines}
    told = outcomes(record, lines, inputs, result)
    said = sentences(record, lines, main_wishes(inputs), inputs, result)
    names = _names(run.round)
    return MyResult(
        place=inputs.order.index(member.number) + 1,
        of=len(inputs.order),
        packets=len(record.packets),
        allowance=record.member.allowance,
        reasons=tuple(
            WishReason(
                rank=rank,
                line_number=outcome.line,
                name=names.get(outcome.line, ""),
                is_reserve=rank > len(record.member.main),
                code=outcome.code,
                sentence=sentence,
            )
            for rank, (outcome, sentence) in enumerate(zip(told, said, strict=True), start=1)
        ),
    )


def _names(round: Round) -> dict[str, str]:
    rows = ListLine.objects.filter(round=round).values_list("line_number", "lot__name_text")
    return {str(number): name for number, name in rows}


def shortage_report(round: Round, inputs: Inputs | None = None) -> list[ShortLine]:
    """Return the lines with more main wishes than packets, the shortest supply first."""
    asked = shortages(inputs or gather_inputs(round, draw_seed=None))
    names = _names(round)
    return [ShortLine(each, names.get(each.line, "")) for each in asked if each.unmet]


def policies_compared(inputs: Inputs) -> list[PolicyRow]:
    """Share out the same frozen inputs by each policy, so that a keeper can choose with open eyes."""
    words = dict(Round.Policy.choices)
    rows = []
    for policy in POLICIES:
        asked = replace(inputs, policy=policy)
        try:
            rows.append(PolicyRow(policy, words[policy], measure(asked, share(asked)), ""))
        except ImportError as absent:
            rows.append(PolicyRow(policy, words[policy], None, f"not to be had here: {absent}"))
    return rows


def runs_of(round: Round) -> Sequence[AllocationRun]:
    return list(round.runs.select_related("made_by", "parent").order_by("position"))
