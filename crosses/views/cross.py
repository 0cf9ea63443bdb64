from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from crosses.access import cross_for_reading, cross_for_writing
from crosses.actions.cross import change_cross, plan_cross, withdraw_cross
from crosses.base.changing import acts_on, change_form
from crosses.base.clock import now, today
from crosses.base.pages import carry_out, page_of, show
from crosses.forms.cross import ChangeCrossForm, CrossForm, FindCrossesForm
from crosses.forms.fields import WithdrawForm
from crosses.queries.cautions import cautions_of_pair
from crosses.queries.crosses import (
    cross_rows,
    crosses_list,
    parent_links,
    reciprocal_of,
    seasons_of,
    seedlings_of,
)
from crosses.queries.fertility import chance_of_cross, pair_model
from crosses.queries.finding import cross_suggestions, plant_suggestions
from crosses.queries.flowers import flower_rows_of_cross
from crosses.queries.glance import own_crosses_of_season, taken_by, timeline_of
from crosses.queries.harvests import harvests_of
from crosses.queries.lineage import relation_of_parents
from crosses.queries.pollen import pollen_found
from crosses.queries.took import take_of
from crosses.queries.written import cross_formula

CROSSES_DRAWN = 40


def cross_list(request: HttpRequest) -> HttpResponse:
    seasons = seasons_of(request.user)
    form = FindCrossesForm(request.GET, seasons=seasons)
    asked = form.asked()
    page = page_of(request, crosses_list(request.user, **asked))
    context = {"form": form, "page_obj": page, "rows": cross_rows(page.object_list)}
    return show(request, "crosses/cross/list.html", context)


def cross_season(request: HttpRequest) -> HttpResponse:
    """Show one's own season as pictures; without a year the latest."""
    seasons = seasons_of(request.user, own_only=True) or [today().year]
    asked = request.GET.get("season", "")
    season = next((year for year in seasons if str(year) == asked), seasons[0])
    page = page_of(request, own_crosses_of_season(request.user, season), per_page=CROSSES_DRAWN)
    context = {
        "seasons": seasons,
        "season": season,
        "page_obj": page,
        "timeline": timeline_of(page.object_list, season),
        "taken": taken_by(request.user, season),
        "pollen": pollen_found(request.user),
        "taken_ever": taken_by(request.user) if len(seasons) > 1 else None,
    }
    return show(request, "crosses/cross/season.html", context)


def cross_detail(request: HttpRequest, number: str) -> HttpResponse:
    cross = cross_for_reading(request.user, number)
    return show(
        request,
        "crosses/cross/detail.html",
        {
            "cross": cross,
            "formula": cross_formula(cross),
            "parents": parent_links(request.user, cross),
            "take": take_of(cross),
            "chance": chance_of_cross(pair_model(request.user), cross),
            "relation": relation_of_parents(cross),
            "is_own": cross.grower_id == request.user.pk,
            "reciprocal": reciprocal_of(request.user, cross),
            "flowers": flower_rows_of_cross(request.user, cross, today()),
            "harvests": harvests_of(cross),
            "page_obj": page_of(request, seedlings_of(request.user, cross)),
            "cautions": cautions_of_pair(cross.seed_parent, cross.pollen_parent),
        },
    )


def cross_add(request: HttpRequest) -> HttpResponse:
    form = CrossForm(
        request.POST or None,
        user=request.user,
        today=today(),
        initial={name: request.GET.get(name, "") for name in ("seed_parent", "pollen_parent")},
    )
    if request.method == "POST" and form.is_valid():
        cross = carry_out(
            form,
            lambda: plan_cross(grower=request.user, by=request.user, at=now(), **form.facts()),
        )
        if cross is not None:
            messages.success(request, f"Cross {cross.own_number} is planned ({cross.number}).")
            return redirect("cross-detail", cross.number)
    context = {
        "form": form,
        "plant_suggestions": plant_suggestions(request.user),
        "cross_suggestions": cross_suggestions(request.user),
    }
    return show(request, "crosses/cross/add.html", context)


def cross_change(request: HttpRequest, number: str) -> HttpResponse:
    cross = cross_for_writing(request.user, number)
    form = change_form(request, cross, lambda sent, cross: ChangeCrossForm(sent, correcting=cross))
    if request.method == "POST" and form.is_valid():
        changed = carry_out(
            form,
            lambda: change_cross(
                cross=cross, by=request.user, why=form.cleaned_data["why"], **form.facts()
            ),
        )
        if changed is not None:
            messages.success(request, "Corrected. What it said before stands in its history.")
            return redirect("cross-detail", number)
    return show(request, "crosses/cross/change.html", {"form": form, "number": number})


def cross_withdraw(request: HttpRequest, number: str) -> HttpResponse:
    cross = cross_for_writing(request.user, number)
    form = acts_on(cross, WithdrawForm(request.POST or None))
    if request.method == "POST" and form.is_valid():
        gone = carry_out(
            form,
            lambda: withdraw_cross(cross=cross, by=request.user, at=now(), **form.cleaned_data),
        )
        if gone is not None:
            messages.success(request, f"Cross {number} is withdrawn.")
            return redirect("cross-detail", number)
    context = {"form": form, "number": number, "what": "cross", "name": cross_formula(cross)}
    return show(request, "crosses/withdraw.html", context)
