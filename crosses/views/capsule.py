from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from crosses.access import check_for_writing, pollination_for_writing
from crosses.actions.capsule import record_check, withdraw_check
from crosses.base.clock import now, today
from crosses.base.pages import carry_out, carry_out_or_say
from crosses.forms.capsule import CheckForm
from crosses.models import Check
from crosses.queries.capsules import checks_of, state_of
from crosses.queries.written import cross_formula

SLIP_OF_THE_THUMB = "taken back at once"


def check_add(request: HttpRequest, number: str) -> HttpResponse:
    pollination = pollination_for_writing(request.user, number)
    form = CheckForm(request.POST or None, today=today())
    if request.method == "POST" and form.is_valid():
        check = carry_out(
            form,
            lambda: record_check(
                pollination=pollination, by=request.user, at=now(), **form.cleaned_data
            ),
        )
        if check is not None:
            messages.success(request, f"{number}: {check.get_kind_display()} is noted.")
            return _back(request, number)
    context = {
        "form": form,
        "pollination": pollination,
        "is_own": True,
        "formula": cross_formula(pollination.cross),
        "kinds": Check.Kind.choices,
        "state": state_of(pollination),
        "checks": checks_of(pollination),
    }
    return render(request, "crosses/capsule/check.html", context)


@require_POST
def check_undo(request: HttpRequest, number: str, check_id: int) -> HttpResponse:
    check = check_for_writing(request.user, number, check_id)
    reason = request.POST.get("reason", "").strip() or SLIP_OF_THE_THUMB
    carry_out_or_say(
        request,
        lambda: withdraw_check(check=check, by=request.user, at=now(), reason=reason),
        f"{number}: {check.get_kind_display()} is taken back.",
    )
    return _back(request, number)


def _back(request: HttpRequest, number: str) -> HttpResponse:
    """Return to the list if the button stood there, else to the flower."""
    if request.POST.get("back") == "list":
        return redirect("pollination-list")
    return redirect("pollination-detail", number)
