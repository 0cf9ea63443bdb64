from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from crosses.access import pollination_for_reading, pollination_for_writing
from crosses.actions.pollination import (
    add_touch_up,
    change_pollination,
    log_gesture,
    withdraw_gesture,
)
from crosses.base.changing import acts_on, change_form
from crosses.base.clock import now, today
from crosses.base.pages import ask, carry_out, show
from crosses.formats.icalendar import write_calendar
from crosses.formats.sheetpicture import sheet_picture
from crosses.forms.fields import WithdrawForm
from crosses.forms.pollination import (
    ChangePollinationForm,
    FindFlowersForm,
    PollinationForm,
    TagSheetForm,
    TouchUpForm,
)
from crosses.forms.sheet import remember_sheet, remembered_sheet
from crosses.labels import tags_pdf
from crosses.models import Pollination
from crosses.queries.calendar import watch_events
from crosses.queries.capsules import checks_of, state_of
from crosses.queries.cautions import cautions_of_pair
from crosses.queries.fertility import chance_of_cross, pair_model
from crosses.queries.finding import cross_suggestions, plant_suggestions
from crosses.queries.flowers import flowers_page, way_back_of
from crosses.queries.forecast import outlook_page
from crosses.queries.recent import facts_to_log_again, last_use, recent_pairs, recent_plants
from crosses.queries.seasons import suggested_own_number
from crosses.queries.tags import tag_of, tags_of, was_pollinated
from crosses.queries.written import cross_formula


def pollination_list(request: HttpRequest) -> HttpResponse:
    form = FindFlowersForm(request.GET)
    page = flowers_page(request.user, today(), page=request.GET.get("page"), **form.asked())
    # Each row is a small form, and each form has a key of its own.
    rows = [(row, uuid4()) for row in page.object_list]
    context = {"form": form, "page_obj": page, "rows": rows}
    return show(request, "crosses/pollination/list.html", {**context, "today": today()})


def pollination_calendar(request: HttpRequest) -> HttpResponse:
    """Hand out the watch list as a calendar file."""
    events = watch_events(request.user, today())
    calendar = write_calendar(events, name="Flowers to look at", made_at=now())
    headers = {"Content-Disposition": 'attachment; filename="flowers.ics"'}
    return HttpResponse(calendar, content_type="text/calendar; charset=utf-8", headers=headers)


def pollination_detail(request: HttpRequest, number: str) -> HttpResponse:
    pollination = pollination_for_reading(request.user, number)
    cross = pollination.cross
    return show(
        request,
        "crosses/pollination/detail.html",
        {
            "pollination": pollination,
            "cross": cross,
            "formula": cross_formula(cross),
            "is_own": cross.grower_id == request.user.pk,
            "state": state_of(pollination),
            "today": today(),
            "key": uuid4(),
            "checks": checks_of(pollination),
            "touch_ups": pollination.touch_ups.all(),
            "harvests": pollination.harvests.select_related("harvest"),
            "ahead": outlook_page(request.user, pollination, today()),
            "cautions": cautions_of_pair(cross.seed_parent, cross.pollen_parent),
        },
    )


def _log(form: PollinationForm, user: Any) -> Pollination:
    key = form.cleaned_data["client_key"]
    return log_gesture(by=user, at=now(), client_key=key, **form.gesture())


def pollination_add(request: HttpRequest) -> HttpResponse:
    user, day = request.user, today()
    start = {name: request.GET.get(name, "") for name in ("seed_parent", "pollen_parent")}
    again = request.POST.get("again") or request.GET.get("cross", "")
    last = last_use(user, day)
    start |= {"again": again} | (last.facts if last else {})
    if like := request.GET.get("like"):
        start |= facts_to_log_again(pollination_for_writing(user, like))
    form = PollinationForm(request.POST or None, user=user, today=day, initial=start)
    if request.method == "POST" and form.is_valid():
        pollination = carry_out(form, lambda: _log(form, request.user))
        if pollination is not None:
            messages.success(request, f"{pollination.number} is written down.")
            return redirect("pollination-tag", pollination.number)
    context = {
        "form": form,
        "pairs": recent_pairs(user, day, first=again),
        "plants": recent_plants(user, day),
        "last": last,
        "plant_suggestions": plant_suggestions(user),
        "cross_suggestions": cross_suggestions(user),
        "next_own_number": suggested_own_number(user, day.year),
    }
    return show(request, "crosses/pollination/add.html", context)


def pollination_tag(request: HttpRequest, number: str) -> HttpResponse:
    """Show what to write on the tag, right after saving, with what to think of for the pair."""
    pollination = pollination_for_writing(request.user, number)
    if not was_pollinated(pollination):
        messages.info(request, f"{number}: no pollen was found, so there is nothing to tag.")
        return redirect("pollination-detail", number)
    cross = pollination.cross
    way_back = way_back_of(pollination)
    model = pair_model(request.user)
    context = {
        "tag": tag_of(pollination),
        "pollination": pollination,
        "cautions": cautions_of_pair(cross.seed_parent, cross.pollen_parent),
        "chance": chance_of_cross(model, cross, pollination),
        "way_back": tag_of(way_back) if way_back else None,
        "chance_back": chance_of_cross(model, way_back.cross, way_back) if way_back else None,
    }
    return show(request, "crosses/pollination/tag.html", context)


def pollination_tags(request: HttpRequest) -> HttpResponse:
    """Print tags, or look first at a picture of the sheet."""
    start = remembered_sheet(request) | {"numbers": request.GET.get("numbers", "")}
    form = TagSheetForm(request.POST or None, initial=start)
    picture = ""
    if request.method == "POST" and form.is_valid():
        tags = ask(form, lambda: tags_of(request.user, form.cleaned_data["numbers"]))
        sheet, start_at = form.cleaned_data["label_sheet"], form.cleaned_data["start_at"]
        if tags and "look" not in request.POST:
            remember_sheet(request, form, labels_printed=len(tags))
            headers = {"Content-Disposition": 'attachment; filename="tags.pdf"'}
            pdf = tags_pdf(tags, sheet, start_at)
            return HttpResponse(pdf, content_type="application/pdf", headers=headers)
        if tags:
            picture = sheet_picture(sheet, [tag.lines for tag in tags], start_at=start_at)
    return show(request, "crosses/pollination/tags.html", {"form": form, "picture": picture})


def pollination_change(request: HttpRequest, number: str) -> HttpResponse:
    pollination = pollination_for_writing(request.user, number)
    form = change_form(
        request,
        pollination,
        lambda sent, found: ChangePollinationForm(sent, pollination=found, today=today()),
    )
    if request.method == "POST" and form.is_valid():
        why = form.cleaned_data["why"]
        changed = carry_out(
            form,
            lambda: change_pollination(
                pollination=pollination, by=request.user, at=now(), why=why, **form.facts()
            ),
        )
        if changed is not None:
            messages.success(request, "Corrected. What it said before stands in its history.")
            return redirect("pollination-detail", number)
    return show(request, "crosses/pollination/change.html", {"form": form, "number": number})


def pollination_touch_up(request: HttpRequest, number: str) -> HttpResponse:
    pollination = pollination_for_writing(request.user, number)
    form = TouchUpForm(request.POST or None, today=today())
    if request.method == "POST" and form.is_valid():
        done = carry_out(
            form,
            lambda: add_touch_up(
                pollination=pollination, by=request.user, at=now(), **form.cleaned_data
            ),
        )
        if done is not None:
            messages.success(request, "The touch-up is written down.")
            return redirect("pollination-detail", number)
    return show(request, "crosses/pollination/touch_up.html", {"form": form, "number": number})


def _after_slip(request: HttpRequest, slips: list[Pollination]) -> HttpResponse:
    """Lead on to what is left to do: after a slip of the finger to the form as it was filled in."""
    numbers = " and ".join(slip.number for slip in slips)
    messages.success(request, f"{numbers} {'are' if len(slips) > 1 else 'is'} withdrawn.")
    if "again" not in request.POST:
        return redirect("pollination-detail", slips[0].number)
    messages.info(request, "Here is what you had filled in. Put it right and log it again.")
    return redirect(f"{reverse('pollination-add')}?like={slips[0].number}")


def pollination_withdraw(request: HttpRequest, number: str) -> HttpResponse:
    pollination = pollination_for_writing(request.user, number)
    form = acts_on(pollination, WithdrawForm(request.POST or None))
    if request.method == "POST" and form.is_valid():
        back = way_back_of(pollination) if "both" in request.POST else None
        slips = [pollination, *filter(None, [back])]
        carry_out(
            form,
            lambda: withdraw_gesture(
                pollinations=slips, by=request.user, at=now(), **form.cleaned_data
            ),
        )
        if not form.errors:
            return _after_slip(request, slips)
    name = cross_formula(pollination.cross)
    context = {"form": form, "number": number, "what": "pollination", "name": name}
    return show(request, "crosses/withdraw.html", context)
