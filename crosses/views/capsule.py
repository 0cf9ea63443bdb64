from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_POST

from crosses.access import (
    check_for_writing,
    photo_for_reading,
    photo_for_writing,
    pollination_for_writing,
)
from crosses.actions.capsule import record_check, withdraw_check
from crosses.actions.photo import add_photo, withdraw_photo
from crosses.base.clock import now, today
from crosses.base.pages import carry_out, carry_out_or_say, show, way_back
from crosses.forms.capsule import CheckForm, PhotoForm
from crosses.models import Check
from crosses.queries.capsules import checks_of, state_of
from crosses.queries.written import cross_formula

SLIP_OF_THE_THUMB = "taken back at once"


def check_add(request: HttpRequest, number: str) -> HttpResponse:
    pollination = pollination_for_writing(request.user, number)
    form = CheckForm(request.POST or None, request.FILES or None, today=today())
    if request.method == "POST" and form.is_valid():
        check = carry_out(
            form,
            lambda: record_check(
                pollination=pollination, by=request.user, at=now(), **form.cleaned_data
            ),
        )
        if check is not None:
            messages.success(request, f"{number}: {check.get_kind_display()} is noted.")
            return _back(request, number)
    context = {
        "form": form,
        "pollination": pollination,
        "is_own": True,
        "formula": cross_formula(pollination.cross),
        "kinds": Check.Kind.choices,
        "state": state_of(pollination),
        "checks": checks_of(pollination),
        "next": way_back(request, ""),
    }
    return show(request, "crosses/capsule/check.html", context)


@require_POST
def check_undo(request: HttpRequest, number: str, check_id: int) -> HttpResponse:
    check = check_for_writing(request.user, number, check_id)
    reason = request.POST.get("reason", "").strip() or SLIP_OF_THE_THUMB
    carry_out_or_say(
        request,
        lambda: withdraw_check(check=check, by=request.user, at=now(), reason=reason),
        f"{number}: {check.get_kind_display()} is taken back.",
    )
    return _back(request, number)


def photo_add(request: HttpRequest, number: str, check_id: int) -> HttpResponse:
    check = check_for_writing(request.user, number, check_id)
    form = PhotoForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        kept = carry_out(
            form,
            lambda: add_photo(check=check, by=request.user, at=now(), **form.cleaned_data),
        )
        if kept is not None:
            messages.success(request, f"{number}: the photo is kept.")
            return _back(request, number)
    back = way_back(request, request.GET.get("next", ""))
    context = {"form": form, "check": check, "number": number, "next": back}
    return show(request, "crosses/capsule/photo.html", context)


@cache_control(private=True, max_age=3600)
def photo_file(request: HttpRequest, number: str, photo_id: int) -> FileResponse:
    """Hand a photo to who may see the flower; no other address leads to the file."""
    photo = photo_for_reading(request.user, number, photo_id)
    try:
        file = photo.file.open()
    except FileNotFoundError:
        # A database that was brought back without its folder of files.
        raise Http404("The file of this photo is not there.") from None
    return FileResponse(file, content_type="image/jpeg", filename=f"{number}-{photo_id}.jpg")


@require_POST
def photo_withdraw(request: HttpRequest, number: str, photo_id: int) -> HttpResponse:
    photo = photo_for_writing(request.user, number, photo_id)
    carry_out_or_say(
        request,
        lambda: withdraw_photo(
            photo=photo, by=request.user, at=now(), reason="taken away by the grower"
        ),
        f"{number}: the photo is gone.",
    )
    return _back(request, number)


def _back(request: HttpRequest, number: str) -> HttpResponse:
    """Return to the page the button stood on, at the card that was asked for, else to the flower."""
    back = way_back(request, reverse("pollination-detail", args=[number]))
    place = request.GET.get("place", "")
    return redirect(f"{back}#{place}" if place.replace("-", "").isalnum() else back)
