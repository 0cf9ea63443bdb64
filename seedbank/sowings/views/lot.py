from django.http import HttpResponse

from crosses.base.pages import ask, show
from seedbank.bank.access import lot_for_reading, other_lot
from seedbank.members.http import MemberRequest
from seedbank.sowings.forms import CompareLotsForm
from seedbank.sowings.queries.comparing import lots_beside, lots_compared


def compare(request: MemberRequest, number: str) -> HttpResponse:
    lot = lot_for_reading(request.user, number)
    form = CompareLotsForm(request.GET or None)
    compared = None
    if form.is_valid():
        typed = form.cleaned_data["other"]
        compared = ask(
            form, lambda: lots_compared(lot, other_lot(request.user, typed), request.user)
        )
    context = {
        "lot": lot,
        "form": form,
        "compared": compared,
        "beside": lots_beside(lot, request.user),
    }
    return show(request, "sowings/lot/compare.html", context)
