"""A sharing-out as keepers and members read it: measures, shortages, and a reason for every wish."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from django.db.models import Count, F, QuerySet

from seedbank.calc import lottery
from seedbank.calc.allocation import (
    POLICIES,
    Inputs,
    Measures,
    Share,
    Shortage,
    measure,
    read_inputs,
    share,
    shortages,
    tell,
)
from seedbank.calc.allocation.model import GOT, PACKED, PLENTIFUL, RESERVE
from seedbank.exchange.models import (
    AllocationRun,
    HandChange,
    ListLine,
    MemberAccount,
    ParcelItem,
    Round,
)
from seedbank.exchange.queries.inputs import gather_inputs
from seedbank.exchange.queries.surplus import packets_left
from seedbank.members.models import Member

MOST_SHORT_LINES = 40


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


def inputs_of(run: AllocationRun) -> Inputs:
    """Return what a run was shared out from, as it was frozen."""
    return read_inputs(run.inputs.encode())


def measures_of(run: AllocationRun) -> Measures:
    """Return how well a run served, as it was reckoned when it was made."""
    kept = run.account.measures
    shares = ("first_choices", "top_three", "filled", "worst_served", "envy", "envy_beyond_one")
    return Measures(**kept | {name: Share(**kept[name]) for name in shares if kept[name]})


def last_run(round: Round) -> AllocationRun | None:
    """Return the run that stands; its files, megabytes long, are loaded only if asked for."""
    return runs_of(round).last()


def runs_of(round: Round) -> QuerySet[AllocationRun]:
    runs = round.runs.select_related("made_by", "round").defer("inputs", "result")
    return runs.annotate(packets_added=Count("items")).order_by("position")


def my_result(run: AllocationRun, member: Member) -> MyResult | None:
    """Return a member's result, or None if they took no part."""
    account = MemberAccount.objects.filter(run=run, member_number=member.number).first()
    if account is None:
        return None
    common, own = run.account.common, account.own
    told = tell(member.number, common, own)
    names = _names(run.round, [outcome.line for outcome, _sentence in told])
    return MyResult(
        place=own["place"],
        of=common["members"],
        packets=len(own["packets"]),
        allowance=own["allowance"],
        reasons=tuple(
            WishReason(
                rank=outcome.position,
                line_number=outcome.line,
                name=names.get(outcome.line, ""),
                is_reserve=outcome.phase == RESERVE,
                code=outcome.code,
                sentence=sentence,
            )
            for outcome, sentence in told
        ),
    )


def _names(round: Round, line_numbers: Iterable[str]) -> dict[str, str]:
    rows = ListLine.objects.filter(round=round, line_number__in=[*map(int, line_numbers)])
    return {str(number): name for number, name in rows.values_list("line_number", "lot__name_text")}


def shortage_report(round: Round) -> list[ShortLine]:
    """Return the lines that would be short by the wishes so far, the shortest supply first."""
    return _named(round, shortages(gather_inputs(round, draw_seed=None)))


def shortages_in(run: AllocationRun) -> list[ShortLine]:
    """Return the lines that were short in a run, the shortest supply first."""
    short = [
        Shortage(line, stock, wishes, wishes - stock)
        for line, (stock, _copies, _withdrawn, wishes, _closing) in run.account.common[
            "lines"
        ].items()
        if wishes > stock
    ]
    return _named(run.round, sorted(short, key=lambda each: (-each.unmet, int(each.line))))


def _named(round: Round, short: Iterable[Shortage]) -> list[ShortLine]:
    shown = list(short)[:MOST_SHORT_LINES]
    names = _names(round, [each.line for each in shown])
    return [ShortLine(each, names.get(each.line, "")) for each in shown]


@dataclass(frozen=True, slots=True)
class Since:
    """What happened to one member's packets after the announcement, besides her own list."""

    by_hand: tuple[HandChange, ...]
    lost: tuple[ParcelItem, ...]
    taken: tuple[ParcelItem, ...]


def since_announced(round: Round, member: Member) -> Since:
    """Return what was changed by hand, what was lost and what was taken of the surplus."""
    items = (
        ParcelItem.objects.filter(parcel__round=round, parcel__member=member)
        .select_related("line__lot", "parcel")
        .order_by("promised_at", "pk")
    )
    changes = HandChange.objects.filter(round=round, member=member, replaced_at=None)
    lost = items.filter(is_surplus=False, released_at__gte=F("parcel__round__announced_at"))
    return Since(
        by_hand=tuple(changes.select_related("line__lot")),
        lost=tuple(lost),
        taken=tuple(items.filter(is_surplus=True, released_at=None)),
    )


@dataclass(frozen=True, slots=True)
class Waiting:
    """What a top-up could act on: packets free again, and members owed one."""

    free: int
    owed: int


def waiting_since(round: Round) -> Waiting:
    """Count the packets that lie free, and the members whose packet was lost."""
    free = packets_left(round)
    owed = ParcelItem.objects.filter(parcel__round=round, is_owed=True).count()
    return Waiting(free, owed)


def policies_compared(inputs: Inputs) -> list[PolicyRow]:
    """Share out the same inputs by each policy, so that a keeper can choose with open eyes."""
    words = dict(Round.Policy.choices)
    rows = []
    for policy in POLICIES:
        if policy == "even" and inputs.make_good:
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
