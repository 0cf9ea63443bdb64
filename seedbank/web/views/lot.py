from django.http import HttpResponse
from django.shortcuts import render

from crosses.base.clock import today
from seedbank.bank.access import lot_for_reading
from seedbank.bank.queries import lot_facts
from seedbank.members.http import MemberRequest
from seedbank.sowings.queries.lots import lot_germination, storage_outlook
from seedbank.sowings.queries.pages import shares_of


def detail(request: MemberRequest, number: str) -> HttpResponse:
    lot = lot_for_reading(request.user, number)
    germination = lot_germination(lot, request.user)
    context = {
        "lot": lot,
        "facts": lot_facts(lot, request.user),
        "germination": germination,
        "sowings": shares_of(list(germination.sowings)),
        "outlook": storage_outlook(lot, request.user, today()),
    }
    return render(request, "web/lot.html", context)
