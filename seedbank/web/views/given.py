from django.http import HttpResponse

from crosses.base.pages import show
from seedbank.members.http import MemberRequest
from seedbank.sowings.queries.lots import FEWEST_GROWERS
from seedbank.web.given_queries import given_by


def given(request: MemberRequest) -> HttpResponse:
    """What came of the seed a member gave."""
    context = {"given": given_by(request.user), "fewest_growers": FEWEST_GROWERS}
    return show(request, "web/given.html", context)
