from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import render

from seedbank.api.filters import GerminationFilters
from seedbank.members.http import MemberRequest
from seedbank.sowings.queries.grouping import GROUPERS


def guide(request: MemberRequest) -> HttpResponse:
    """What may be asked for and how, for people; the schema says the same to programs."""
    filters = [
        (name, known.extra.get("help_text", ""))
        for name, known in GerminationFilters.base_filters.items()
    ]
    context = {"site": settings.SITE_ADDRESS, "filters": filters, "groupers": list(GROUPERS)}
    return render(request, "api/guide.html", context)
