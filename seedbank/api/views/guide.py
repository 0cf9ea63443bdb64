from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import render

from seedbank.api.errors import PROBLEMS
from seedbank.api.filters import GerminationFilters
from seedbank.api.limits import MOST_REQUESTS
from seedbank.api.reference import reference
from seedbank.members.http import MemberRequest
from seedbank.sowings.queries.grouping import GROUPERS

SCRIPT = settings.BASE_DIR / "fixtures/scripts/germination_by_age.py"


def guide(request: MemberRequest) -> HttpResponse:
    """What may be asked for and how, for people; the schema says the same to programs."""
    filters = [
        (name, known.extra.get("help_text", ""))
        for name, known in GerminationFilters.base_filters.items()
    ]
    context = {
        "site": settings.SITE_ADDRESS,
        "filters": filters,
        "groupers": [(name, grouper.words) for name, grouper in GROUPERS.items()],
        "chapters": reference(),
        "problems": PROBLEMS,
        "most_requests": MOST_REQUESTS,
        "script": SCRIPT.read_text(),
    }
    return render(request, "api/guide.html", context)
