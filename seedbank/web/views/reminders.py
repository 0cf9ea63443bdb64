"""Being told: the watch list in one's calendar, and by mail in the morning."""

import datetime

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from crosses.base.clock import now, today
from crosses.base.pages import carry_out, show
from crosses.formats.icalendar import write_calendar
from crosses.queries.calendar import watch_events
from seedbank.members.access import calendar_address_for_writing
from seedbank.members.actions.calendar import (
    address_of_calendar,
    make_calendar_address,
    revoke_calendar_address,
)
from seedbank.members.actions.daily_mail import want_daily_mail
from seedbank.members.actions.tally import count_one
from seedbank.members.actions.token import digest_of
from seedbank.members.forms import CalendarForm
from seedbank.members.http import MemberRequest
from seedbank.members.queries import calendar_addresses_of, mail_words, wants_daily_mail

# A calendar reads a few times a day; who asks more often is told to wait.
READS = 30
WINDOW = datetime.timedelta(hours=1)


@never_cache
def reminders(request: MemberRequest) -> HttpResponse:
    """Addresses for calendars, and the daily mail. A new address is shown this once."""
    form = CalendarForm(request.POST or None)
    address = ""
    if request.method == "POST" and form.is_valid():
        made = carry_out(
            form,
            lambda: make_calendar_address(member=request.user, at=now(), **form.cleaned_data),
        )
        if made is not None:
            address = f"{settings.SITE_ADDRESS}{reverse('calendar-feed', args=[made[1]])}"
    context = {
        "form": form,
        "address": address,
        "addresses": calendar_addresses_of(request.user),
        "wants_mail": wants_daily_mail(request.user),
        "mail_words": mail_words("It", request.user),
    }
    return show(request, "web/reminders.html", context)


@require_POST
def revoke(request: MemberRequest, key: int) -> HttpResponse:
    address = calendar_address_for_writing(request.user, key)
    revoke_calendar_address(address=address, at=now())
    messages.success(request, f"“{address.name}” is read by no calendar any more.")
    return redirect("bench-reminders")


@require_POST
def daily_mail(request: MemberRequest) -> HttpResponse:
    wants = "wants" in request.POST
    want_daily_mail(member=request.user, at=now(), wants=wants)
    said = "The day's work will come by mail" if wants else "You get no more daily mail"
    messages.success(request, f"{said}.")
    return redirect("bench-reminders")


@login_not_required
@require_safe
def feed(request: HttpRequest, secret: str) -> HttpResponse:
    """The watch list of whoever made this address, for a calendar that cannot sign in."""
    at = now()
    # By its digest: a table of tallies is no place for a secret.
    asked = count_one(f"calendar-{digest_of(secret)}", at=at, window=WINDOW)
    if asked.times > READS:
        wait = max(int((asked.ends_at - at).total_seconds()), 1)
        return HttpResponse("Too often.", status=429, headers={"Retry-After": str(wait)})
    address = address_of_calendar(secret, at=at)
    if address is None:
        raise Http404("No calendar has this address, or it was revoked.")
    day = today()
    # Made at the beginning of the day, so that it stays the same until something changes.
    made_at = timezone.make_aware(datetime.datetime.combine(day, datetime.time.min))
    calendar = write_calendar(
        watch_events(address.member, day), name="Flowers to look at", made_at=made_at
    )
    headers = {
        "ETag": quote_etag(digest_of(calendar.decode())),
        "Cache-Control": f"private, max-age={int(WINDOW.total_seconds())}",
        "X-Robots-Tag": "noindex",
    }
    answer = HttpResponse(calendar, content_type="text/calendar; charset=utf-8", headers=headers)
    return get_conditional_response(request, etag=answer["ETag"], response=answer) or answer
