from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect

from crosses.base.changing import change_form
from crosses.base.clock import now
from crosses.base.pages import carry_out, show
from seedbank.exchange import access
from seedbank.exchange.actions.round import change_round, open_round
from seedbank.exchange.forms import RoundChangeForm, RoundForm
from seedbank.exchange.models import Round
from seedbank.exchange.queries.round import (
    allowance_of,
    country_allowances_in_words,
    round_counts,
    stage_of,
)
from seedbank.exchange.queries.wishes import wish_list_of
from seedbank.members.http import MemberRequest


def round_list(request: MemberRequest) -> HttpResponse:
    at = now()
    rounds = [(found, stage_of(found, at)) for found in access.rounds_visible_to(request.user)]
    return show(request, "exchange/round/list.html", {"rounds": rounds})


def round_detail(request: MemberRequest, slug: str) -> HttpResponse:
    found, at = access.round_for_reading(request.user, slug), now()
    context = {
        "round": found,
        "stage": stage_of(found, at),
        "allowance": allowance_of(found, request.user),
        "wish_list": wish_list_of(found, request.user),
        "by_country": country_allowances_in_words(found),
        "counts": round_counts(found),
        "may_keep": access.may_keep(request.user),
        "may_read_list": access.may_read_list(request.user, found, at),
    }
    return show(request, "exchange/round/detail.html", context)


def round_open(request: MemberRequest) -> HttpResponse:
    access.require_keeper(request.user)
    form = RoundForm(request.POST or None, initial={"policy": Round.Policy.TURNS})
    if request.method == "POST" and form.is_valid():
        opened = carry_out(form, lambda: open_round(by=request.user, at=now(), **form.cleaned_data))
        if opened:
            messages.success(
                request,
                "The round is open and its draw is committed to. Put lots on its list next.",
            )
            return redirect("round-detail", opened.slug)
    return show(request, "exchange/round/form.html", {"form": form})


def round_change(request: MemberRequest, slug: str) -> HttpResponse:
    found = access.round_for_writing(request.user, slug)
    form = change_form(request, found, lambda sent, now: RoundChangeForm(sent, initial=_facts(now)))
    if request.method == "POST" and form.is_valid():
        facts = dict(form.cleaned_data)
        why = facts.pop("why")
        if carry_out(
            form, lambda: change_round(round=found, by=request.user, at=now(), why=why, **facts)
        ):
            messages.success(request, "Changed.")
            return redirect("round-detail", slug)
    return show(request, "exchange/round/form.html", {"form": form, "round": found})


def _facts(found: Round) -> dict[str, Any]:
    return {name: getattr(found, name) for name in RoundForm.base_fields}
