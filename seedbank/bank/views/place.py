from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect

from crosses.base.changing import change_form
from crosses.base.pages import carry_out, show
from seedbank.bank.access import place_for_writing, places_of
from seedbank.bank.actions.place import add_place, change_place, refuse_unasked_second
from seedbank.bank.forms.place import PlaceForm
from seedbank.bank.models import Place
from seedbank.bank.queries import places_with_packets
from seedbank.members.http import MemberRequest


def _add(request: MemberRequest, form: PlaceForm) -> Place:
    owner, facts = None if form.cleaned_data.get("is_bank") else request.user, form.facts()
    if "second" not in request.POST:
        refuse_unasked_second(owner=owner, **facts)
    return add_place(by=request.user, owner=owner, **facts)


def listing(request: MemberRequest) -> HttpResponse:
    """One's places with what lies in them, and the form for another."""
    form = PlaceForm(request.POST or None, user=request.user)
    if request.method == "POST" and form.is_valid():
        place = carry_out(form, lambda: _add(request, form))
        if place is not None:
            messages.success(request, f"Place {place.code} is there.")
            return redirect("place-list")
    context = {"form": form, "places": places_with_packets(places_of(request.user))}
    return show(request, "bank/place/list.html", context)


def change(request: MemberRequest, key: int) -> HttpResponse:
    place = place_for_writing(request.user, key)
    form = change_form(
        request, place, lambda sent, place: PlaceForm(sent, user=request.user, correcting=place)
    )
    if request.method == "POST" and form.is_valid():
        changed = carry_out(form, lambda: change_place(place=place, **form.facts()))
        if changed is not None:
            messages.success(request, f"Place {place.code} is changed.")
            return redirect("place-list")
    return show(request, "bank/place/change.html", {"form": form, "key": key})
