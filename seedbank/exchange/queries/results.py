"""A sharing-out as keepers and members read it: measures, shortages, and a reason for every wish."""

from dataclasses import dataclass, replace
from functools import lru_cache

from django.db.models import QuerySet

from crosses.base.refusal import Refused
from seedbank.calc import lottery
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
from seedbank.calc.allocation.model import GOT, PACKED, PLENTIFUL
from seedbank.exchange.models import AllocationRun, ListLine, Round
from seedbank.exchange.queries.inputs import gather_inputs
from seedbank.members.models import Member

# As many as take a second or two to share out evenly; beyond, it takes minutes.
MOST_WISHES_TO_COMPARE = 10_000
EVEN_TAKES_LONG = "takes minutes for so many wishes; share the downloaded inputs out to see it"


@dataclass(frozen=True, slots=True)
class WishReason:
    """What became of one wish, in one plain sentence."""

    rank: int
    line_number: str
    name: str
    is_reserve: bool
    code: str
    sentence: str

    @property
    def is_given(self) -> bool:
        return self.code in {GOT, PLENTIFUL, PACKED}


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
    return _reckoned(run.pk, run.result_digest)


@lru_cache(maxsize=4)
def _reckoned(run_key: int, result_digest: str) -> tuple[Inputs, Result]:
    # Kept, because every member reads the same run, and a run never changes.
    run = AllocationRun.objects.only("position", "inputs").get(pk=run_key)
    inputs = read_inputs(run.inputs.encode())
    result = share(inputs)
    if sha256(result_document(inputs, result)) != result_digest:
        raise Refused("not-the-same", f"Run {run.position} does not come out as it was stored.")
    return inputs, result


def last_run(round: Round) -> AllocationRun | None:
    """Return the run that stands; its files, megabytes long, are loaded only if asked for."""
    return runs_of(round).last()


def runs_of(round: Round) -> QuerySet[AllocationRun]:
    runs = round.runs.select_related("made_by").defer("inputs", "result")
    return runs.order_by("position")


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
    """Share out the same inputs by each policy, so that a keeper can choose with open eyes."""
    words = dict(Round.Policy.choices)
    wishes = sum(len(member.main) + len(member.reserve) for member in inputs.members)
    rows = []
    for policy in POLICIES:
        if policy == "even" and wishes > MOST_WISHES_TO_COMPARE:
            rows.append(PolicyRow(policy, words[policy], None, EVEN_TAKES_LONG))
        elif policy == "even" and inputs.make_good:
            rows.append(
                PolicyRow(policy, words[policy], None, "what is owed is made good by turns")
            )
        else:
            asked = replace(inputs, policy=policy)
            rows.append(PolicyRow(policy, words[policy], measure(asked, share(asked)), ""))
    return rows


def trial_inputs(round: Round) -> Inputs:
    """Return a round's inputs with a draw that is plainly not the real one.

    It shows what a sharing-out would bring while the real draw cannot be known yet.
    """
    return gather_inputs(round, draw_seed=lottery.seed(round.slug, bytes(32), "trial draw"))
