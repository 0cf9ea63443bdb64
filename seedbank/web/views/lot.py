from django.http import HttpResponse

from crosses.base.clock import today
from crosses.base.pages import show
from seedbank.bank.access import lot_for_reading
from seedbank.bank.queries import lot_facts
from seedbank.members.http import MemberRequest
from seedbank.sowings.queries.lots import lot_germination, storage_outlook


def detail(request: MemberRequest, number: str) -> HttpResponse:
    lot = lot_for_reading(request.user, number)
    context = {
        "lot": lot,
        "facts": lot_facts(lot, request.user),
        "germination": lot_germination(lot, request.user),
        "outlook": storage_outlook(lot, request.user, today()),
    }
    return show(request, "web/lot.html", context)
