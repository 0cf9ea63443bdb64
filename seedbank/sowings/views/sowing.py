from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect

from crosses.base.changing import acts_on
from crosses.base.clock import now, today
from crosses.base.pages import ask, carry_out, page_of, show
from crosses.forms.fields import WithdrawForm
from seedbank.bank.access import packets_visible_to
from seedbank.members.http import MemberRequest
from seedbank.sowings.access import (
    may_write,
    other_sowing,
    packet_typed,
    sowing_for_reading,
    sowing_for_writing,
)
from seedbank.sowings.actions.seedling import keep_seedlings
from seedbank.sowings.actions.sowing import close_sowing, reopen_sowing, sow, withdraw_sowing
from seedbank.sowings.forms import (
    USUAL_SURE_PERCENT,
    AdviceForm,
    CloseForm,
    CompareForm,
    PretreatmentFormSet,
    ReopenForm,
    SeedlingForm,
    SowForm,
    pretreatments_of,
)
from seedbank.sowings.queries.comparing import sowings_compared
from seedbank.sowings.queries.lots import USUAL_SEEDLINGS, sowing_advice
from seedbank.sowings.queries.pages import (
    counts_due,
    loaded,
    packets_to_sow,
    shares_of,
    sowing_facts,
    sowings_beside,
    sowings_listed,
)


def listing(request: MemberRequest) -> HttpResponse:
    whose = "all" if request.GET.get("whose") == "all" else "mine"
    state = "open" if request.GET.get("state") == "open" else ""
    page = page_of(request, sowings_listed(request.user, whose=whose, state=state))
    context = {
        "page_obj": page,
        "rows": shares_of(list(page)),
        "whose": whose,
        "state": state,
        "counts_due": counts_due(request.user, today()),
    }
    return show(request, "sowings/sowing/list.html", context)


def add(request: MemberRequest) -> HttpResponse:
    asks = "advise" in request.POST
    begun = {"sown_on": today(), "packet": request.GET.get("packet", "")}
    # Who only asks how many to sow has typed half of it: it stays, and nothing is wrong with it yet.
    form = SowForm(
        None if asks else request.POST or None, initial=request.POST.dict() if asks else begun
    )
    steps = PretreatmentFormSet(request.POST or None, prefix="step")
    if request.method == "POST" and not asks and form.is_valid() and steps.is_valid():
        sowing = carry_out(
            form,
            lambda: sow(
                packet=packet_typed(request.user, form.cleaned_data["packet"]),
                grower=request.user,
                by=request.user,
                at=now(),
                pretreatments=pretreatments_of(steps),
                client_key=form.cleaned_data["client_key"],
                **form.facts(),
            ),
        )
        if sowing is not None:
            messages.success(request, f"Sown: {sowing.number}. Write this number on the pot.")
            return redirect("sowing-detail", sowing.number)
    context = {
        "form": form,
        "steps": steps,
        "suggestions": packets_to_sow(request.user, packets_visible_to(request.user)),
        **_advised(request, asks=asks),
    }
    return show(request, "sowings/sowing/add.html", context)


def _advised(request: MemberRequest, *, asks: bool) -> dict[str, Any]:
    """Say how many seeds to sow of the packet that was scanned or asked about."""
    given = request.POST if asks else request.GET
    usual = {"seedlings": USUAL_SEEDLINGS, "sure_percent": USUAL_SURE_PERCENT}
    asked = AdviceForm(usual | given.dict() if given.get("packet") or asks else None)
    said: dict[str, Any] = {"asked": asked, "packet": None}
    if not asked.is_valid():
        return said
    packet = ask(asked, lambda: packet_typed(request.user, asked.cleaned_data["packet"]))
    if packet is None:
        return said
    advised = ask(
        asked,
        lambda: sowing_advice(
            packet.lot,
            request.user,
            seedlings=asked.cleaned_data["seedlings"],
            confidence=asked.cleaned_data["sure_percent"] / 100,
        ),
    )
    return said | {"packet": packet, "advised": advised}


def detail(request: MemberRequest, number: str) -> HttpResponse:
    sowing = loaded(sowing_for_reading(request.user, number))
    context = {
        "sowing": sowing,
        "facts": sowing_facts(sowing),
        "may_write": may_write(request.user, sowing),
        "beside": sowings_beside(sowing, request.user),
    }
    return show(request, "sowings/sowing/detail.html", context)


def close(request: MemberRequest, number: str) -> HttpResponse:
    sowing = sowing_for_writing(request.user, number)
    form = acts_on(sowing, CloseForm(request.POST or None, initial={"closed_on": today()}))
    if request.method == "POST" and form.is_valid():
        done = carry_out(
            form,
            lambda: close_sowing(sowing=sowing, by=request.user, at=now(), **form.cleaned_data),
        )
        if done is not None:
            messages.success(request, "Closed. What was left is kept with it.")
            return redirect("sowing-detail", number)
    context = {"sowing": sowing, "form": form, "title": "Close the sowing", "verb": "Close it"}
    return show(request, "sowings/sowing/act.html", context)


def reopen(request: MemberRequest, number: str) -> HttpResponse:
    sowing = sowing_for_writing(request.user, number)
    form = acts_on(sowing, ReopenForm(request.POST or None))
    if request.method == "POST" and form.is_valid():
        done = carry_out(
            form, lambda: reopen_sowing(sowing=sowing, by=request.user, **form.cleaned_data)
        )
        if done is not None:
            return redirect("sowing-detail", number)
    context = {"sowing": sowing, "form": form, "title": "Wait on", "verb": "Open it again"}
    return show(request, "sowings/sowing/act.html", context)


def withdraw(request: MemberRequest, number: str) -> HttpResponse:
    sowing = sowing_for_writing(request.user, number)
    form = acts_on(sowing, WithdrawForm(request.POST or None))
    if request.method == "POST" and form.is_valid():
        done = carry_out(
            form,
            lambda: withdraw_sowing(sowing=sowing, by=request.user, at=now(), **form.cleaned_data),
        )
        if done is not None:
            messages.success(request, f"{number} is withdrawn and counts nowhere any more.")
            return redirect("sowing-list")
    context = {
        "sowing": sowing,
        "form": form,
        "title": "Withdraw the sowing",
        "verb": "Withdraw it",
    }
    return show(request, "sowings/sowing/act.html", context)


def seedlings(request: MemberRequest, number: str) -> HttpResponse:
    sowing = loaded(sowing_for_writing(request.user, number))
    form = SeedlingForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        kept = carry_out(
            form,
            lambda: keep_seedlings(sowing=sowing, by=request.user, at=now(), **form.cleaned_data),
        )
        if kept is not None:
            messages.success(request, f"{len(kept)} kept, each with a plant number of its own.")
            return redirect("sowing-detail", number)
    context = {"sowing": sowing, "form": form, "title": "Keep seedlings", "verb": "Keep them"}
    return show(request, "sowings/sowing/act.html", context)


def compare(request: MemberRequest, number: str) -> HttpResponse:
    sowing = loaded(sowing_for_reading(request.user, number))
    form = CompareForm(request.GET or None)
    compared = None
    if form.is_valid():
        typed = form.cleaned_data["other"]
        compared = ask(
            form, lambda: sowings_compared(sowing, loaded(other_sowing(request.user, typed)))
        )
    context = {
        "sowing": sowing,
        "form": form,
        "compared": compared,
        "beside": sowings_beside(sowing, request.user),
    }
    return show(request, "sowings/sowing/compare.html", context)
