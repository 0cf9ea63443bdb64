from uuid import uuid4

from django.http import HttpResponse

from crosses.base.clock import now, today
from crosses.base.pages import show
from crosses.forms.capsule import ONE_TAP_KINDS
from seedbank.members.http import MemberRequest
from seedbank.web.bench_queries import bench_of

SESSION_KEY = "days-to-next-visit"
NEXT_VISITS = {"1": "1 day", "2": "2 days", "3": "3 days", "7": "a week"}


def bench(request: MemberRequest) -> HttpResponse:
    """What wants a hand today; when the next visit is, is remembered until one signs out."""
    if (asked := request.GET.get("next-visit", "")) in NEXT_VISITS:
        request.session[SESSION_KEY] = asked
    days = request.session.get(SESSION_KEY, "1")
    waiting = bench_of(request.user, today(), now(), days_to_next_visit=int(days))
    context = {
        "bench": waiting,
        # Each card is a small form, and each form has a key of its own.
        "due": [(watched, uuid4()) for watched in waiting.watch.now],
        "kinds": ONE_TAP_KINDS,
        "next_visits": NEXT_VISITS.items(),
        "next_visit": days,
        "today": today(),
    }
    return show(request, "web/bench.html", context)
