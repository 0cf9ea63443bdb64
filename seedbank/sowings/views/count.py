from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect

from crosses.base.changing import acts_on
from crosses.base.clock import now, today
from crosses.base.pages import carry_out, show
from crosses.forms.fields import WithdrawForm
from seedbank.members.http import MemberRequest
from seedbank.sowings.access import count_for_writing, sowing_for_writing
from seedbank.sowings.actions.count import record_count, withdraw_count
from seedbank.sowings.forms import CountForm, GridForm, PotForm
from seedbank.sowings.models import Replicate
from seedbank.sowings.queries.pages import loaded, pots_to_count


def add(request: MemberRequest, number: str) -> HttpResponse:
    sowing = loaded(sowing_for_writing(request.user, number))
    pots = list(sowing.replicates.all())
    form = CountForm(request.POST or None, pots=pots, initial={"counted_on": today()})
    if request.method == "POST" and form.is_valid():
        count = carry_out(
            form, lambda: record_count(by=request.user, at=now(), **form.cleaned_data)
        )
        if count is not None:
            messages.success(request, f"{count.newly_seen} new, counted.")
            return redirect("sowing-detail", number)
    context = {"sowing": sowing, "form": form, "title": "Count seedlings", "verb": "Count"}
    return show(request, "sowings/sowing/act.html", context)


def withdraw(request: MemberRequest, number: str, key: int) -> HttpResponse:
    count = count_for_writing(request.user, number, key)
    form = acts_on(count, WithdrawForm(request.POST or None))
    if request.method == "POST" and form.is_valid():
        done = carry_out(
            form,
            lambda: withdraw_count(count=count, by=request.user, at=now(), **form.cleaned_data),
        )
        if done is not None:
            messages.success(request, "The count is withdrawn.")
            return redirect("sowing-detail", number)
    context = {
        "sowing": count.replicate.sowing,
        "form": form,
        "title": f"Withdraw the count of {count.counted_on:%d %b %Y}",
        "verb": "Withdraw it",
    }
    return show(request, "sowings/sowing/act.html", context)


def grid(request: MemberRequest) -> HttpResponse:
    """Show every open pot in one table; each pot counted is saved by itself, the others wait."""
    head = GridForm(request.POST or None, initial={"counted_on": today()})
    pots = list(pots_to_count(request.user, today()))
    typed = {pot.pk: PotForm(request.POST or None, pot=pot) for pot in pots}
    if request.method == "POST" and head.is_valid():
        counted = sum(_count_pot(request, head, pot, typed[pot.pk]) for pot in pots)
        if counted:
            messages.success(request, f"{counted} pot{'' if counted == 1 else 's'} counted.")
        if not any(form.errors for form in typed.values()):
            return redirect("count-grid")
        # What is saved starts afresh, with a new key; only what was refused stays as typed.
        pots = list(pots_to_count(request.user, today()))
        typed = {
            pot.pk: typed[pot.pk] if typed[pot.pk].errors else PotForm(pot=pot) for pot in pots
        }
    rows = [(pot, typed[pot.pk]) for pot in pots]
    context = {"head": head, "rows": rows}
    return show(request, "sowings/count/grid.html", context)


def _count_pot(request: MemberRequest, head: GridForm, pot: Replicate, form: PotForm) -> bool:
    if not form.is_valid() or form.cleaned_data["number"] is None:
        return False
    count = carry_out(
        form,
        lambda: record_count(
            replicate=pot,
            by=request.user,
            at=now(),
            counted_on=head.cleaned_data["counted_on"],
            number=form.cleaned_data["number"],
            typed_as=head.cleaned_data["typed_as"],
            client_key=form.cleaned_data["client_key"],
        ),
    )
    return count is not None
