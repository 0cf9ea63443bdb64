from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from crosses.access import harvest_for_writing
from crosses.base.clock import now, today
from crosses.base.pages import KeyedForm, carry_out, page_of
from crosses.forms.fields import WithdrawForm
from crosses.queries.finding import taxon_suggestions
from seedbank.bank.access import lot_for_writing
from seedbank.bank.actions.lot import add_lot, change_lot, make_lot_from_harvest, withdraw_lot
from seedbank.bank.forms.lot import ChangeLotForm, LotForm
from seedbank.bank.queries import harvest_name, harvests_without_lot, lots_found
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
    return render(request, "bank/lot/list.html", context)


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
    return render(request, "bank/lot/add.html", {"form": form, "taxa": taxon_suggestions()})


def from_harvest(request: MemberRequest, number: str) -> HttpResponse:
    """Ask once, then carry the harvest over into a lot."""
    harvest = harvest_for_writing(request.user, number)
    form = KeyedForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        lot = carry_out(
            form,
            lambda: make_lot_from_harvest(
                harvest=harvest,
                by=request.user,
                at=now(),
                client_key=form.cleaned_data["client_key"],
            ),
        )
        if lot is not None:
            messages.success(request, f"The seed is lot {lot.number}. Now fill packets.")
            return redirect("packets-add", lot.number)
    context = {"form": form, "harvest": harvest, "name_text": harvest_name(harvest)}
    return render(request, "bank/lot/from_harvest.html", context)


def change(request: MemberRequest, number: str) -> HttpResponse:
    lot = lot_for_writing(request.user, number)
    form = ChangeLotForm(request.POST or None, instance=lot)
    if request.method == "POST" and form.is_valid():
        why = form.cleaned_data["why"]
        changed = carry_out(
            form, lambda: change_lot(lot=lot, by=request.user, at=now(), why=why, **form.facts())
        )
        if changed is not None:
            messages.success(request, f"{lot.number} is corrected; its history shows what it said.")
            return redirect("lot-detail", lot.number)
    context = {"form": form, "number": number, "taxa": taxon_suggestions()}
    return render(request, "bank/lot/change.html", context)


def withdraw(request: MemberRequest, number: str) -> HttpResponse:
    lot = lot_for_writing(request.user, number)
    form = WithdrawForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data["reason"]
        done = carry_out(
            form, lambda: withdraw_lot(lot=lot, by=request.user, at=now(), reason=reason)
        )
        if done is not None:
            messages.success(request, f"{lot.number} is withdrawn.")
            return redirect("lot-detail", lot.number)
    return render(request, "bank/lot/withdraw.html", {"form": form, "lot": lot})
