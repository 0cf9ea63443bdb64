"""The installed site: its manifest, its service worker, the page without a signal, the entries sent."""

import datetime
import json
import uuid
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils.dateparse import parse_datetime
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_POST

from crosses.actions.own_number import letter_of_device
from crosses.base.clock import now, today
from crosses.calc.errors import BadInput
from crosses.forms.capsule import CheckForm
from crosses.forms.fields import WithdrawForm
from crosses.forms.harvest import HarvestForm
from crosses.forms.plant import PlantForm
from crosses.forms.pollination import PollinationForm, TouchUpForm
from crosses.queries.taps import ONE_TAP_KINDS
from seedbank.bank.forms.packet import HarvestIntoPacketsForm, MakePacketsForm
from seedbank.members.http import MemberRequest
from seedbank.members.models import Member
from seedbank.sowings.forms import GridForm, SowForm
from seedbank.web.entries import KINDS, Entry, take_entry
from seedbank.web.offline_queries import device_copy
from seedbank.web.shell import shell

ICON_PIXELS = (192, 512)
PAGE = "web/offline.html"


@login_not_required
def manifest(request: HttpRequest) -> HttpResponse:
    """What an installed site is called and looks like (W3C Web Application Manifest)."""
    icons = [{"src": static("web/icon.svg"), "sizes": "any", "type": "image/svg+xml"}]
    for pixels in ICON_PIXELS:
        icon = {"sizes": f"{pixels}x{pixels}", "type": "image/png"}
        icons.append({**icon, "src": static(f"web/icons/icon-{pixels}.png")})
        maskable = static(f"web/icons/maskable-{pixels}.png")
        icons.append({**icon, "src": maskable, "purpose": "maskable"})
    content = {
        "id": "/",
        "name": settings.SOCIETY_NAME,
        "short_name": settings.SOCIETY_NAME.split()[0],
        "lang": "en-GB",
        "start_url": reverse("bench"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#fbfaf5",
        "theme_color": "#2c5e3a",
        "icons": icons,
        "shortcuts": [
            {"name": "Log a pollination", "url": reverse("pollination-add")},
            {"name": "Count", "url": reverse("count-grid")},
        ],
    }
    return JsonResponse(content, content_type="application/manifest+json")


def _forms() -> dict[str, Any]:
    return {
        "pollination_form": PollinationForm(user=None, today=today(), auto_id="pollination-%s"),
        "touch_up_form": TouchUpForm(today=today(), auto_id="touch-up-%s"),
        "check_form": CheckForm(today=today(), auto_id="check-%s"),
        "count_head": GridForm(auto_id="count-%s"),
        "harvest_form": HarvestForm(open_flowers=(), today=today(), auto_id="harvest-%s"),
        "packets_form": HarvestIntoPacketsForm(user=None, auto_id="packets-%s"),
        "lot_packets_form": MakePacketsForm(user=None, auto_id="lot-packets-%s"),
        "sow_form": SowForm(
            initial={"sown_on": today()}, auto_id="sowing-%s", suggestions="packet-suggestions"
        ),
        "plant_form": PlantForm(user=None, auto_id="plant-%s"),
        "withdraw_form": WithdrawForm(auto_id="withdrawal-%s"),
        "kinds": ONE_TAP_KINDS,
    }


@login_not_required
@never_cache
def service_worker(request: HttpRequest) -> HttpResponse:
    """At the root, as a worker looks after no address above its own."""
    of_nobody = {**_forms(), "society_name": settings.SOCIETY_NAME}
    ours = shell(render_to_string(PAGE, of_nobody))
    context = {
        "version": ours.version,
        "page": reverse("offline"),
        "addresses": json.dumps([*ours.addresses, reverse("manifest")]),
    }
    return render(request, "web/sw.js", context, content_type="text/javascript")


@login_not_required
def page(request: HttpRequest) -> HttpResponse:
    """The one page that is there without a signal; it is the same for everybody and fills itself."""
    return render(request, PAGE, _forms())


@never_cache
@ensure_csrf_cookie
def copy(request: MemberRequest) -> HttpResponse:
    return JsonResponse(device_copy(request.user, today(), now()))


@never_cache
@require_POST
def letter(request: MemberRequest) -> HttpResponse:
    """Give a device the letter of its own numbers, the same one however often it asks."""
    try:
        device = uuid.UUID(request.POST.get("device", ""))
    except ValueError:
        return JsonResponse({"words": "The device does not say which it is."}, status=400)
    return JsonResponse({"letter": letter_of_device(grower=request.user, device=device)})


@login_not_required
@never_cache
@require_POST
def entry(request: HttpRequest) -> HttpResponse:
    """Take one entry from a device; whatever a rule says of it is an answer and not an error."""
    member = request.user
    if not isinstance(member, Member):
        return JsonResponse({"words": "Sign in, and it goes up."}, status=401)
    if request.POST.get("member") != member.number:
        return JsonResponse({"words": "Another member logged this."}, status=409)
    try:
        sent = _read(request)
    except BadInput as wrong:
        return JsonResponse({"words": wrong.message}, status=400)
    answer = take_entry(sent, by=member, at=now(), today=today())
    if answer.outcome in {"done", "again"} and "say" in request.POST:
        messages.success(request, answer.words)
    return JsonResponse(answer.as_json())


def _read(request: HttpRequest) -> Entry:
    kind = request.POST.get("entry", "")
    if kind not in KINDS:
        raise BadInput("This kind of entry is not known here.", field="entry")
    try:
        key = uuid.UUID(request.POST.get("client_key", ""))
        seen: Any = json.loads(request.POST.get("seen", "{}"))
    except ValueError as error:
        raise BadInput("The entry is not whole.", field="client_key") from error
    return Entry(
        kind=kind,
        about=request.POST.get("about", ""),
        key=key,
        logged_at=_moment(request.POST.get("logged_at", "")),
        is_agreed="agreed" in request.POST,
        seen=seen if isinstance(seen, dict) else {},
        typed=request.POST,
        files=request.FILES,
    )


def _moment(text: str) -> datetime.datetime:
    try:
        moment = parse_datetime(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise BadInput("The moment it was logged is not readable.", field="logged_at")
    return moment
