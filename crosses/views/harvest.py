from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from crosses.access import cross_for_writing, harvest_for_reading, harvest_for_writing
from crosses.actions.harvest import count_seeds, log_harvest, withdraw_harvest
from crosses.base.changing import acts_on
from crosses.base.clock import now, today
from crosses.base.pages import ask, carry_out, show
from crosses.forms.fields import WithdrawForm
from crosses.forms.harvest import HarvestForm, SeedsForm
from crosses.queries.cautions import hazard_of
from crosses.queries.harvests import flowers_to_harvest, harvest_facts
from crosses.queries.written import cross_formula


def harvest_add(request: HttpRequest, number: str) -> HttpResponse:
    cross = cross_for_writing(request.user, number)
    form = HarvestForm(request.POST or None, open_flowers=flowers_to_harvest(cross), today=today())
    reckoned = _reckoned(request, form)
    if request.method == "POST" and form.is_valid() and not reckoned:
        harvest = carry_out(
            form,
            lambda: log_harvest(
                cross=cross,
                by=request.user,
                at=now(),
                capsules=form.capsules(),
                client_key=form.cleaned_data["client_key"],
                **form.facts(),
            ),
        )
        if harvest is not None:
            messages.success(request, f"Harvest {harvest.number} is written down.")
            # Seed that is counted goes on into packets; the rest is cleaned and counted first.
            further = "harvest-detail" if harvest.seeds is None else "lot-from-harvest"
            return redirect(further, harvest.number)
    context = {
        "form": form,
        "cross": cross,
        "formula": cross_formula(cross),
        "hazard": hazard_of(cross.seed_parent),
        "reckoned": reckoned,
    }
    return show(request, "crosses/harvest/add.html", context)


def _reckoned(request: HttpRequest, form: SeedsForm) -> str:
    """Return what the weighed samples come to, if that alone was asked for; nothing is saved."""
    if "reckon" not in request.POST or not form.is_valid():
        return ""
    return ask(form, form.estimate) or ""


def harvest_detail(request: HttpRequest, number: str) -> HttpResponse:
    harvest = harvest_for_reading(request.user, number)
    context = {
        "harvest": harvest,
        "cross": harvest.cross,
        "formula": cross_formula(harvest.cross),
        "is_own": harvest.cross.grower_id == request.user.pk,
        "facts": harvest_facts(harvest),
        "hazard": hazard_of(harvest.cross.seed_parent),
    }
    return show(request, "crosses/harvest/detail.html", context)


def harvest_count(request: HttpRequest, number: str) -> HttpResponse:
    harvest = harvest_for_writing(request.user, number)
    form = acts_on(harvest, SeedsForm(request.POST or None, correcting=harvest))
    reckoned = _reckoned(request, form)
    if request.method == "POST" and form.is_valid() and not reckoned:
        counted = carry_out(
            form, lambda: count_seeds(harvest=harvest, by=request.user, **form.facts())
        )
        if counted is not None:
            messages.success(request, "The seeds are written down.")
            return redirect("harvest-detail", number)
    return show(
        request,
        "crosses/harvest/count.html",
        {"form": form, "number": number, "reckoned": reckoned},
    )


def harvest_withdraw(request: HttpRequest, number: str) -> HttpResponse:
    harvest = harvest_for_writing(request.user, number)
    form = acts_on(harvest, WithdrawForm(request.POST or None))
    if request.method == "POST" and form.is_valid():
        gone = carry_out(
            form,
            lambda: withdraw_harvest(
                harvest=harvest, by=request.user, at=now(), **form.cleaned_data
            ),
        )
        if gone is not None:
            messages.success(request, f"{number} is withdrawn; its capsules are open again.")
            return redirect("harvest-detail", number)
    name = cross_formula(harvest.cross)
    context = {"form": form, "number": number, "what": "harvest", "name": name}
    return show(request, "crosses/withdraw.html", context)
