from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect

from crosses.access import harvest_for_writing
from crosses.base.changing import acts_on, change_form
from crosses.base.clock import now, today
from crosses.base.pages import carry_out, page_of, show
from crosses.forms.fields import WithdrawForm
from crosses.models import Harvest
from crosses.queries.finding import taxon_suggestions
from crosses.queries.harvests import harvest_facts
from seedbank.bank.access import lot_for_writing
from seedbank.bank.actions.lot import add_lot, change_lot, put_harvest_in_packets, withdraw_lot
from seedbank.bank.forms.lot import ChangeLotForm, LotForm
from seedbank.bank.forms.packet import HarvestIntoPacketsForm
from seedbank.bank.models import Lot
from seedbank.bank.queries import (
    divided,
    harvest_name,
    harvests_without_lot,
    left_in_words,
    lots_found,
    places_to_suggest,
)
from seedbank.members.http import MemberRequest

WHOSE = {"all": "The society's", "mine": "Mine", "bank": "In the bank's store"}


def listing(request: MemberRequest) -> HttpResponse:
    whose = request.GET.get("whose", "mine")
    text = request.GET.get("q", "").strip()
    context = {
        "page_obj": page_of(request, lots_found(request.user, text=text, whose=whose)),
        "whose": whose,
        "choices": WHOSE,
        "text": text,
        "harvests": [(h, harvest_name(h)) for h in harvests_without_lot(request.user)[:10]],
    }
    return show(request, "bank/lot/list.html", context)


def add(request: MemberRequest) -> HttpResponse:
    form = LotForm(request.POST or None, initial={"year": today().year})
    if request.method == "POST" and form.is_valid():
        lot = carry_out(
            form,
            lambda: add_lot(
                raised_by=request.user,
                owner=request.user,
                by=request.user,
                at=now(),
                client_key=form.cleaned_data["client_key"],
                **form.facts(),
            ),
        )
        if lot is not None:
            messages.success(request, f"Seed lot {lot.number} is written down. Now fill packets.")
            return redirect("packets-add", lot.number)
    return show(request, "bank/lot/add.html", {"form": form, "taxa": taxon_suggestions()})


def from_harvest(request: MemberRequest, number: str) -> HttpResponse:
    """Carry a harvest over into a lot and its packets; `see` shows what would be left, unsaved."""
    harvest = harvest_for_writing(request.user, number)
    name_text, plan = harvest_name(harvest), divided(harvest)
    initial: dict[str, Any] = {"name_text": name_text}
    if plan:
        initial |= {"how_many": plan.packets, "seeds_each": plan.seeds_per_packet}
    form = HarvestIntoPacketsForm(request.POST or None, user=request.user, initial=initial)
    is_trial = "see" in request.POST
    if request.method == "POST" and form.is_valid() and not is_trial:
        lot = carry_out(
            form,
            lambda: put_harvest_in_packets(
                harvest=harvest,
                by=request.user,
                at=now(),
                packets=form.packets(),
                name_text=form.cleaned_data["name_text"],
                client_key=form.cleaned_data["client_key"],
            ),
        )
        if lot is not None:
            return _to_labels(request, lot)
    wanted = form.packets() if is_trial and form.is_valid() else initial
    context = {
        "form": form,
        "harvest": harvest,
        "facts": harvest_facts(harvest),
        "name_text": name_text,
        "plan": plan,
        "left": _what_is_left(harvest, wanted),
        "places": places_to_suggest(request.user),
    }
    return show(request, "bank/lot/from_harvest.html", context)


def _what_is_left(harvest: Harvest, wanted: dict[str, Any] | None) -> str:
    if harvest.seeds is None or not wanted or "how_many" not in wanted:
        return ""
    return left_in_words(harvest.seeds, wanted["how_many"], wanted["seeds_each"])


def _to_labels(request: MemberRequest, lot: Lot) -> HttpResponse:
    packets = lot.packets.count()
    if not packets:
        messages.success(
            request, f"The seed is lot {lot.number}, loose; fill packets when you like."
        )
        return redirect("lot-detail", lot.number)
    words = "one packet" if packets == 1 else f"{packets} packets"
    messages.success(
        request,
        f"The seed is lot {lot.number}, in {words}. Print the labels now, before they are mixed up.",
    )
    return redirect("packets-labels", lot.number)


def change(request: MemberRequest, number: str) -> HttpResponse:
    lot = lot_for_writing(request.user, number)
    form = change_form(request, lot, lambda sent, lot: ChangeLotForm(sent, lot=lot))
    if request.method == "POST" and form.is_valid():
        why = form.cleaned_data["why"]
        changed = carry_out(
            form, lambda: change_lot(lot=lot, by=request.user, at=now(), why=why, **form.facts())
        )
        if changed is not None:
            messages.success(request, f"{lot.number} is corrected; its history shows what it said.")
            return redirect("lot-detail", lot.number)
    context = {"form": form, "number": number, "taxa": taxon_suggestions()}
    return show(request, "bank/lot/change.html", context)


def withdraw(request: MemberRequest, number: str) -> HttpResponse:
    lot = lot_for_writing(request.user, number)
    form = acts_on(lot, WithdrawForm(request.POST or None))
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data["reason"]
        done = carry_out(
            form, lambda: withdraw_lot(lot=lot, by=request.user, at=now(), reason=reason)
        )
        if done is not None:
            messages.success(request, f"{lot.number} is withdrawn.")
            return redirect("lot-detail", lot.number)
    return show(request, "bank/lot/withdraw.html", {"form": form, "lot": lot})
