from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from crosses.base.clock import now, today
from crosses.base.pages import carry_out, carry_out_or_say, show
from seedbank.exchange import access
from seedbank.exchange.actions.coming_back import report_germination, stop_reports
from seedbank.exchange.packing_forms import ReportForm
from seedbank.exchange.queries.coming_back import reported_packets, why_not_reported
from seedbank.members.http import MemberRequest


@login_not_required
@never_cache
def report_page(request: HttpRequest, number: str, signature: str) -> HttpResponse:
    """What came up of a parcel, told by whoever holds its slip; nothing here names anybody."""
    parcel = access.parcel_for_report(number, signature)
    packets = reported_packets(parcel)
    choices = [(packet.number, f"{packet.number} {packet.name}") for packet in packets]
    initial: dict[str, object] = {"packet": request.GET.get("packet"), "counted_on": today()}
    for packet in packets:
        if packet.number == initial["packet"]:
            initial |= {"sown_on": packet.sown_on, "seeds_sown": packet.seeds_sown or packet.seeds}
    form = ReportForm(request.POST or None, packets=choices, initial=initial)
    shut = why_not_reported(parcel, now())
    if request.method == "POST" and form.is_valid():
        told = carry_out(
            form, lambda: report_germination(parcel=parcel, at=now(), **form.cleaned_data)
        )
        if told is not None:
            messages.success(request, "Thank you. It stands in the history of this seed now.")
            return redirect("coming-back", number, signature)
    context = {"parcel": parcel, "packets": packets, "form": form, "shut": shut}
    answer = show(request, "exchange/coming_back/report.html", context)
    # The address is the key: no search engine keeps it.
    answer.headers["X-Robots-Tag"] = "noindex"
    return answer


@require_POST
def report_stop(request: MemberRequest, number: str) -> HttpResponse:
    parcel = access.parcel_to_stop_reports(request.user, number)
    carry_out_or_say(
        request,
        lambda: stop_reports(parcel=parcel, by=request.user, at=now()),
        "The code of this slip opens nothing any more.",
    )
    return redirect("parcel-detail", number)
