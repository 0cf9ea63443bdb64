from collections.abc import Sequence
from uuid import UUID, uuid4

from django.http import HttpResponse

from crosses.base.clock import now, today
from crosses.base.pages import show
from crosses.queries.watch import Watched
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
        "due": _cards(waiting.watch.now),
        "closed": [(watched, uuid4()) for watched in waiting.watch.closed],
        "next_visits": NEXT_VISITS.items(),
        "next_visit": days,
        "today": today(),
    }
    return show(request, "web/bench.html", context)


def _cards(due: Sequence[Watched]) -> list[tuple[Watched, UUID, str]]:
    """Give each card a key of its own, and the card to stand at after a tap.

    That is the next one: what was looked at goes down.
    """
    numbers = [watched.row.pollination.number for watched in due]
    places = [*numbers[1:], *numbers[-2:-1], ""]
    return [(watched, uuid4(), place) for watched, place in zip(due, places, strict=False)]
