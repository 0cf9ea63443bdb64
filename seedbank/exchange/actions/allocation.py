"""Share out: freeze what is shared out from, draw, run, run again, announce."""

import datetime
from dataclasses import asdict, dataclass, replace

from django.db import transaction
from django.db.models import Max

from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from seedbank.calc import lottery
from seedbank.calc.allocation import (
    canonical_bytes,
    common_part,
    inputs_document,
    measure,
    own_parts,
    problems,
    result_document,
    sha256,
    share,
)
from seedbank.calc.allocation.model import Inputs, Result
from seedbank.exchange.actions.promises import settle
from seedbank.exchange.actions.result_mail import RESULT_MAILS
from seedbank.exchange.models import AllocationRun, MemberAccount, ParcelItem, Round, RunAccount
from seedbank.exchange.queries.inputs import Keep, drawn, gather_inputs, living_promises
from seedbank.jobs.actions import queue_job
from seedbank.members.models import Member


@dataclass(frozen=True)
class _Again:
    """Why and after which run the seed is shared out again."""

    kind: str
    parent: AllocationRun
    why: str


@transaction.atomic
def freeze_inputs(*, round: Round, by: Member, at: datetime.datetime) -> Round:
    """Fix what will be shared out from, and publish its digest before the draw can be known."""
    round = _locked(round)
    if at < round.wishes_close_at:
        raise Refused(
            "wishes-open", "Wishes are still open; they are frozen once they have closed."
        )
    if round.runs.exists():
        raise Refused("shared-out", "The seed is shared out already.")
    round.frozen_digest = sha256(inputs_document(gather_inputs(round, draw_seed=None)))
    round.frozen_at = at
    save_with_history(round, by=by, why="Wishes and stock frozen.")
    return round


@transaction.atomic
def run_allocation(
    *, round: Round, public_value: str, by: Member, at: datetime.datetime
) -> AllocationRun:
    """Draw and share out, once a round: who presses second is shown the first one's result."""
    round = _locked(round)
    first = round.runs.order_by("position").first()
    if first is not None:
        return first
    if not round.frozen_at:
        raise Refused("not-frozen", "Freeze wishes and stock first, and let their digest be read.")
    if not public_value:
        raise Refused("value-missing", "Enter the public value of the draw.", field="public_value")
    inputs = gather_inputs(round, draw_seed=None)
    if sha256(inputs_document(inputs)) != round.frozen_digest:
        raise Refused(
            "changed-since",
            "Stock or wishes have changed since they were frozen. Freeze them again; the old digest"
            " stays in the history for everybody to see.",
        )
    round.public_value = public_value
    save_with_history(round, by=by, why="Public value entered.")
    return _run(round, drawn(inputs, draw_seed_of(round)), None, by=by, at=at)


@transaction.atomic
def replay(*, round: Round, why: str, by: Member, at: datetime.datetime) -> AllocationRun:
    """Share out again before the announcement, by the same draw; what is packed stays packed."""
    round = _locked(round)
    last = _last_run(round)
    if round.announced_at:
        raise Refused("announced", "The result is announced: only a top-up can add to it now.")
    _refuse_without_reason(why)
    packed = tuple(item for item in living_promises(round) if item.packed_at)
    keep = Keep(promises=packed, plentiful=_plentiful_of_first(round))
    inputs = gather_inputs(round, draw_seed=draw_seed_of(round), keep=keep)
    return _run(round, inputs, _Again(AllocationRun.Kind.REPLAY, last, why), by=by, at=at)


@transaction.atomic
def top_up(*, round: Round, why: str, by: Member, at: datetime.datetime) -> AllocationRun:
    """Offer what is free again to the next in line; nobody gives anything back.

    Members whose packet was lost take a turn before everybody else.
    """
    round = _locked(round)
    last = _last_run(round)
    if not round.announced_at:
        raise Refused("not-announced", "Nothing is announced yet: share out again instead.")
    _refuse_without_reason(why)
    owed = ParcelItem.objects.filter(parcel__round=round, is_owed=True)
    keep = Keep(
        promises=tuple(living_promises(round)),
        plentiful=_plentiful_of_first(round),
        make_good=tuple(owed.order_by("pk").values_list("parcel__member__number", flat=True)),
    )
    inputs = gather_inputs(round, draw_seed=draw_seed_of(round), keep=keep)
    if keep.make_good:
        # What is owed can only be made good by turns, whatever the policy of the round.
        inputs = replace(inputs, policy="turns")
    run = _run(round, inputs, _Again(AllocationRun.Kind.TOP_UP, last, why), by=by, at=at)
    owed.update(is_owed=False)
    return run


@transaction.atomic
def announce(*, round: Round, by: Member, at: datetime.datetime, with_mail: bool = False) -> Round:
    """Let every member read the result, and the packers begin; tell members by mail if wanted."""
    round = _locked(round)
    _last_run(round)
    if round.announced_at:
        raise Refused("announced", "The result is announced already.")
    round.announced_at = at
    save_with_history(round, by=by, why="Result announced.")
    if with_mail:
        title = f"Mails with the results of {round.name}"
        queue_job(kind=RESULT_MAILS, title=title, by=by, at=at, arguments={"round": round.pk})
    return round


def draw_seed_of(round: Round) -> bytes:
    return lottery.seed(round.slug, bytes.fromhex(round.draw_secret), round.public_value)


def _run(
    round: Round, inputs: Inputs, again: _Again | None, *, by: Member, at: datetime.datetime
) -> AllocationRun:
    result = share(inputs)
    _refuse_faults(inputs, result)
    shared_from, shared_out = inputs_document(inputs), result_document(inputs, result)
    last = round.runs.aggregate(last=Max("position"))["last"] or 0
    run = AllocationRun.objects.create(
        round=round,
        position=last + 1,
        kind=again.kind if again else AllocationRun.Kind.RUN,
        policy=inputs.policy,
        parent=again.parent if again else None,
        inputs=canonical_bytes(shared_from).decode(),
        inputs_digest=sha256(shared_from),
        result=canonical_bytes(shared_out).decode(),
        result_digest=sha256(shared_out),
        engine=result.engine,
        why=again.why.strip() if again else "",
        made_at=at,
        made_by=by,
    )
    numbers = _numbers_behind(round)
    _keep_account(run, inputs, result, numbers)
    given = [packet._replace(member=numbers[packet.member]) for packet in result.packets]
    settle(round=round, run=run, given=given, by=by, at=at)
    return run


def _numbers_behind(round: Round) -> dict[str, str]:
    """Return the number of each member by what stands for it in the files of the round."""
    numbers = Member.objects.values_list("number", flat=True)
    return {round.name_published(number): number for number in numbers}


def _keep_account(
    run: AllocationRun, inputs: Inputs, result: Result, numbers: dict[str, str]
) -> None:
    """Keep what the pages about a run tell, so that none of them shares out again."""
    RunAccount.objects.create(
        run=run, measures=asdict(measure(inputs, result)), common=common_part(inputs, result)
    )
    MemberAccount.objects.bulk_create(
        (
            MemberAccount(run=run, member_number=numbers[name], own=own)
            for name, own in own_parts(inputs, result)
        ),
        batch_size=500,
    )


def _refuse_faults(inputs: Inputs, result: Result) -> None:
    """Ask the checker, which knows the rules and not the engine, before anything is promised."""
    faults = problems(inputs, result)
    if faults:
        raise Refused("faulty-result", f"The result breaks a rule and is not used: {faults[0]}")


def _locked(round: Round) -> Round:
    return Round.objects.select_for_update().get(pk=round.pk)


def _last_run(round: Round) -> AllocationRun:
    last = round.runs.order_by("-position").first()
    if last is None:
        raise Refused("not-shared-out", "The seed is not shared out yet.")
    return last


def _plentiful_of_first(round: Round) -> tuple[str, ...]:
    first = RunAccount.objects.get(run__round=round, run__position=1)
    return tuple(first.common["plentiful"])


def _refuse_without_reason(why: str) -> None:
    if not why.strip():
        raise Refused("why-missing", "Say why; everybody reads it beside the result.", field="why")
