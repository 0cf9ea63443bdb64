from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from crosses.base.clock import now
from crosses.base.pages import carry_out, carry_out_or_say, show
from crosses.base.refusal import Refused
from seedbank.bank.queries import members_to_suggest
from seedbank.exchange import access
from seedbank.exchange.actions import allocation as acts
from seedbank.exchange.actions.by_hand import change_by_hand
from seedbank.exchange.actions.recall import take_back_barred
from seedbank.exchange.forms import HandChangeForm, PublicValueForm, WhyForm
from seedbank.exchange.models import AllocationRun, Round
from seedbank.exchange.queries.inputs import barred_promises
from seedbank.exchange.queries.results import (
    inputs_of,
    last_run,
    measures_of,
    my_result,
    policies_compared,
    runs_of,
    shortage_report,
    shortages_in,
    since_announced,
    trial_inputs,
    waiting_since,
)
from seedbank.exchange.queries.round import round_counts, stage_of
from seedbank.exchange.views.answers import taken_back_words
from seedbank.members.http import MemberRequest


def allocation(request: MemberRequest, slug: str) -> HttpResponse:
    """The keeper's desk for sharing out: what to do next, and what would be short."""
    found = access.round_for_writing(request.user, slug)
    return _desk(request, found)


def _desk(
    request: MemberRequest,
    found: Round,
    *,
    value_form: PublicValueForm | None = None,
    why_form: WhyForm | None = None,
    hand_form: HandChangeForm | None = None,
) -> HttpResponse:
    at = now()
    forms = {
        "value_form": value_form or PublicValueForm(),
        "why_form": why_form or WhyForm(),
        "hand_form": hand_form or HandChangeForm(),
    }
    context = {
        "round": found,
        "stage": stage_of(found, at),
        "counts": round_counts(found),
        "run": last_run(found),
        "runs": runs_of(found),
        "short": shortage_report(found),
        "has_closed": at >= found.wishes_close_at,
        "trial": policies_compared(trial_inputs(found)) if "trial" in request.GET else None,
        "waiting": waiting_since(found),
        "barred": barred_promises(found) if found.announced_at else (),
        "suggestions": members_to_suggest(),
        **forms,
    }
    return show(request, "exchange/allocation/desk.html", context)


@require_POST
def freeze(request: MemberRequest, slug: str) -> HttpResponse:
    found = access.round_for_writing(request.user, slug)
    carry_out_or_say(
        request,
        lambda: acts.freeze_inputs(round=found, by=request.user, at=now()),
        "Frozen. The digest stands on the round's page for all to read.",
    )
    return redirect("allocation", slug)


@require_POST
def allocation_run(request: MemberRequest, slug: str) -> HttpResponse:
    found = access.round_for_writing(request.user, slug)
    form = PublicValueForm(request.POST)
    if form.is_valid():
        value = form.cleaned_data["public_value"]
        run = carry_out(
            form,
            lambda: acts.run_allocation(round=found, public_value=value, by=request.user, at=now()),
        )
        if run is not None:
            return redirect("allocation-result", slug)
    return _desk(request, found, value_form=form)


@require_POST
def allocation_again(request: MemberRequest, slug: str) -> HttpResponse:
    """Share out again: before the announcement anew, after it as a top-up."""
    found = access.round_for_writing(request.user, slug)
    form = WhyForm(request.POST)
    if form.is_valid():
        again = acts.top_up if found.announced_at else acts.replay
        why = form.cleaned_data["why"]
        run = carry_out(form, lambda: again(round=found, why=why, by=request.user, at=now()))
        if run is not None:
            messages.success(request, f"Run {run.position} is done.")
            return redirect("allocation-result", slug)
    return _desk(request, found, why_form=form)


@require_POST
def by_hand(request: MemberRequest, slug: str) -> HttpResponse:
    """Overrule the draw for one member and one line, with a reason."""
    found = access.round_for_writing(request.user, slug)
    form = HandChangeForm(request.POST)
    if form.is_valid():
        run = carry_out(
            form,
            lambda: change_by_hand(round=found, by=request.user, at=now(), **form.cleaned_data),
        )
        if run is not None:
            messages.success(request, f"Done by hand; run {run.position} shares out the rest.")
            return redirect("allocation-result", slug)
    return _desk(request, found, hand_form=form)


@require_POST
def release_barred(request: MemberRequest, slug: str) -> HttpResponse:
    """Give up all promises that a bar forbids by now, in every parcel that is not posted."""
    found = access.round_for_writing(request.user, slug)
    try:
        done = take_back_barred(round=found, by=request.user, at=now())
    except Refused as no:
        messages.error(request, no.message)
    else:
        messages.success(request, f"Nothing barred is promised any more.{taken_back_words(done)}")
    return redirect("allocation", slug)


@require_POST
def allocation_announce(request: MemberRequest, slug: str) -> HttpResponse:
    found = access.round_for_writing(request.user, slug)
    carry_out_or_say(
        request,
        lambda: acts.announce(round=found, by=request.user, at=now(), with_mail=True),
        "Announced. Members can read their result and are told by mail; packing can begin.",
    )
    return redirect("round-detail", slug)


def allocation_result(request: MemberRequest, slug: str) -> HttpResponse:
    """How the whole was shared out; members read it once it is announced."""
    found = access.round_for_reading(request.user, slug)
    run = _readable_run(request, found)
    is_keeper = access.may_keep(request.user)
    context = {
        "round": found,
        "run": run,
        "runs": runs_of(found),
        "measures": measures_of(run),
        "short": shortages_in(run),
        "members": run.account.common["members"],
        "is_keeper": is_keeper,
        "compared": policies_compared(inputs_of(run))
        if is_keeper and "compare" in request.GET
        else None,
    }
    return show(request, "exchange/allocation/result.html", context)


def my_result_page(request: MemberRequest, slug: str) -> HttpResponse:
    return _result_of(request, slug, request.user.number)


def member_result(request: MemberRequest, slug: str, member_number: str) -> HttpResponse:
    """The keeper reads a member's result, to answer 'why did I not get it?'."""
    access.require_keeper(request.user)
    return _result_of(request, slug, member_number)


def _result_of(request: MemberRequest, slug: str, member_number: str) -> HttpResponse:
    found = access.round_for_reading(request.user, slug)
    run = _readable_run(request, found)
    member = (
        request.user
        if member_number == request.user.number
        else access.member_for_wishes(request.user, member_number)
    )
    context = {
        "round": found,
        "run": run,
        "member": member,
        "is_own": member == request.user,
        "mine": my_result(run, member),
        "published_as": found.name_published(member.number) if found.pseudonym_key else "",
        "since": since_announced(found, member),
        "parcels": access.parcels_visible_to(request.user).filter(round=found, member=member),
    }
    return show(request, "exchange/allocation/mine.html", context)


def _readable_run(request: MemberRequest, found: Round) -> AllocationRun:
    if not (found.announced_at or access.may_keep(request.user)):
        raise PermissionDenied("The result is not announced yet.")
    run = last_run(found)
    if run is None:
        raise Http404("The seed is not shared out yet.")
    return run
