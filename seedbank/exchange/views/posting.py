from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from crosses.base.changing import acts_on
from crosses.base.clock import now
from crosses.base.pages import carry_out, carry_out_or_say, show
from seedbank.exchange import access
from seedbank.exchange.actions import posting
from seedbank.exchange.forms import ReasonForm
from seedbank.exchange.packing_forms import CloseForm, PostForm
from seedbank.exchange.views.packing import parcel_page
from seedbank.members.http import MemberRequest


@require_POST
def parcel_close(request: MemberRequest, number: str) -> HttpResponse:
    parcel = access.parcel_for_writing(request.user, number)
    form = CloseForm(request.POST)
    if form.is_valid():
        closed = carry_out(
            form,
            lambda: posting.close_parcel(
                parcel=parcel, by=request.user, at=now(), **form.cleaned_data
            ),
        )
        if closed is not None:
            messages.success(request, f"{number} is closed.")
            return redirect("parcel-detail", number)
    return parcel_page(request, parcel, close_form=form)


@require_POST
def parcel_reopen(request: MemberRequest, number: str) -> HttpResponse:
    parcel = access.parcel_for_writing(request.user, number)
    carry_out_or_say(
        request, lambda: posting.reopen_parcel(parcel=parcel, by=request.user, at=now())
    )
    return redirect("parcel-detail", number)


@require_POST
def parcel_post(request: MemberRequest, number: str) -> HttpResponse:
    parcel = access.parcel_for_writing(request.user, number)
    form = PostForm(request.POST)
    if form.is_valid():
        posted = carry_out(
            form,
            lambda: posting.post_parcel(
                parcel=parcel, by=request.user, at=now(), **form.cleaned_data
            ),
        )
        if posted is not None:
            messages.success(request, f"{number} is on its way.")
            return redirect("packing")
    for errors in form.errors.values():
        messages.error(request, str(errors[0]))
    return redirect("parcel-detail", number)


def parcel_cancel(request: MemberRequest, number: str) -> HttpResponse:
    parcel = access.parcel_for_writing(request.user, number)
    access.require_keeper(request.user)
    form = acts_on(parcel, ReasonForm(request.POST or None))
    if request.method == "POST" and form.is_valid():
        done = carry_out(
            form,
            lambda: posting.cancel_parcel(
                parcel=parcel, by=request.user, at=now(), **form.cleaned_data
            ),
        )
        if done is not None:
            messages.success(request, "Cancelled; its packets lie in the store again.")
            return redirect("packing")
    return show(request, "exchange/packing/cancel.html", {"parcel": parcel, "form": form})
