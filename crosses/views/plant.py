from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from crosses.access import plant_for_reading, plant_for_writing
from crosses.actions.plant import (
    add_plant,
    change_plant,
    mark_dead,
    refuse_unasked_second,
    withdraw_plant,
)
from crosses.base.changing import acts_on, change_form
from crosses.base.clock import now, today
from crosses.base.pages import carry_out, page_of, show
from crosses.forms.fields import WithdrawForm
from crosses.forms.plant import (
    ChangePlantForm,
    DeadForm,
    FindPartnersForm,
    FindPlantsForm,
    OtherPlantForm,
    PlantForm,
)
from crosses.models import Plant
from crosses.queries.cautions import hazard_of
from crosses.queries.crosses import crosses_of_plant
from crosses.queries.fertility import figures_of_plant
from crosses.queries.finding import cross_suggestions, plant_suggestions, taxon_suggestions
from crosses.queries.lineage import closeness_of, lineage_of
from crosses.queries.partners import partners_of
from crosses.queries.plants import (
    divisions_of,
    history_of_plant,
    origin_cross,
    plants_list,
    propagated_from,
    seedlings_of_plant,
)


def plant_list(request: HttpRequest) -> HttpResponse:
    form = FindPlantsForm(request.GET)
    page = page_of(request, plants_list(request.user, **form.asked()))
    return show(request, "crosses/plant/list.html", {"form": form, "page_obj": page})


def plant_detail(request: HttpRequest, number: str) -> HttpResponse:
    plant = plant_for_reading(request.user, number)
    as_seed, as_pollen = crosses_of_plant(request.user, plant)
    seed_figures, pollen_figures = figures_of_plant(request.user, plant)
    return show(
        request,
        "crosses/plant/detail.html",
        {
            "plant": plant,
            "is_own": plant.keeper_id == request.user.pk,
            "as_seed": as_seed,
            "seed_figures": seed_figures,
            "as_pollen": as_pollen,
            "pollen_figures": pollen_figures,
            "lineage": lineage_of(request.user, plant),
            "other_form": OtherPlantForm(user=request.user),
            "plant_suggestions": plant_suggestions(request.user),
            "raised_from": origin_cross(request.user, plant),
            "divisions": divisions_of(request.user, plant),
            "propagated_from": propagated_from(request.user, plant),
            "page_obj": page_of(request, seedlings_of_plant(request.user, plant)),
            "hazard": hazard_of(plant),
            "told_history": history_of_plant(plant),
        },
    )


def plant_partners(request: HttpRequest, number: str) -> HttpResponse:
    plant = plant_for_reading(request.user, number)
    form = FindPartnersForm(request.GET)
    asked = form.asked()
    context = {
        "plant": plant,
        "form": form,
        "as_seed_parent": asked["as_seed_parent"],
        "partners": partners_of(request.user, plant, **asked),
    }
    return show(request, "crosses/plant/partners.html", context)


def plant_kinship(request: HttpRequest, number: str) -> HttpResponse:
    plant = plant_for_reading(request.user, number)
    form = OtherPlantForm(request.GET or None, user=request.user)
    other = form.cleaned_data["other"] if form.is_valid() else None
    context = {
        "plant": plant,
        "form": form,
        "other": other,
        "closeness": closeness_of(request.user, plant, other) if other else None,
        "plant_suggestions": plant_suggestions(request.user),
    }
    return show(request, "crosses/plant/kinship.html", context)


def _suggestions(request: HttpRequest) -> dict[str, Any]:
    return {
        "plant_suggestions": plant_suggestions(request.user),
        "cross_suggestions": cross_suggestions(request.user),
        "taxon_suggestions": taxon_suggestions(),
    }


def _add(request: HttpRequest, form: PlantForm) -> Plant:
    facts = form.facts()
    if "second" not in request.POST:
        refuse_unasked_second(keeper=request.user, **facts)
    return add_plant(keeper=request.user, by=request.user, at=now(), **facts)


def plant_add(request: HttpRequest) -> HttpResponse:
    form = PlantForm(request.POST or None, user=request.user)
    if request.method == "POST" and form.is_valid():
        plant = carry_out(form, lambda: _add(request, form))
        if plant is not None:
            messages.success(request, f"{plant.number} is written down.")
            return redirect("plant-detail", plant.number)
    return show(request, "crosses/plant/add.html", {"form": form, **_suggestions(request)})


def plant_change(request: HttpRequest, number: str) -> HttpResponse:
    plant = plant_for_writing(request.user, number)
    form = change_form(
        request, plant, lambda sent, plant: ChangePlantForm(sent, plant=plant, user=request.user)
    )
    if request.method == "POST" and form.is_valid():
        changed = carry_out(
            form,
            lambda: change_plant(
                plant=plant, by=request.user, why=form.cleaned_data["why"], **form.facts()
            ),
        )
        if changed is not None:
            messages.success(request, "Corrected. What it said before stands in its history.")
            return redirect("plant-detail", number)
    context = {"form": form, "number": number, **_suggestions(request)}
    return show(request, "crosses/plant/change.html", context)


def plant_dead(request: HttpRequest, number: str) -> HttpResponse:
    plant = plant_for_writing(request.user, number)
    form = acts_on(plant, DeadForm(request.POST or None, today=today()))
    if request.method == "POST" and form.is_valid():
        dead = carry_out(
            form, lambda: mark_dead(plant=plant, by=request.user, at=now(), **form.cleaned_data)
        )
        if dead is not None:
            messages.success(request, f"{number} is marked dead; its record and offspring stay.")
            return redirect("plant-detail", number)
    return show(request, "crosses/plant/dead.html", {"form": form, "number": number})


def plant_withdraw(request: HttpRequest, number: str) -> HttpResponse:
    plant = plant_for_writing(request.user, number)
    form = acts_on(plant, WithdrawForm(request.POST or None))
    if request.method == "POST" and form.is_valid():
        gone = carry_out(
            form,
            lambda: withdraw_plant(plant=plant, by=request.user, at=now(), **form.cleaned_data),
        )
        if gone is not None:
            messages.success(request, f"{number} is withdrawn.")
            return redirect("plant-detail", number)
    context = {"form": form, "number": number, "what": "plant", "name": plant.name_text}
    return show(request, "crosses/withdraw.html", context)
