from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render

from crosses.base.clock import now, today
from crosses.base.pages import carry_out, page_of
from crosses.forms.fields import WithdrawForm
from crosses.queries.finding import taxon_suggestions
from seedbank.bank.access import (
    donation_for_reading,
    donation_for_receiving,
    donation_for_writing,
    donations_visible_to,
)
from seedbank.bank.actions.donation import (
    answer_line,
    enter_donation_by_hand,
    offer,
    withdraw_donation,
)
from seedbank.bank.actions.storing import packets_numbered
from seedbank.bank.forms.donation import AnswerForm, HandDonationForm, OfferForm
from seedbank.bank.labels import donation_sheet_pdf
from seedbank.bank.models import DonationLine
from seedbank.bank.queries import (
    donations_listed,
    lines_of,
    lots_to_offer,
    members_to_suggest,
    places_to_suggest,
    waiting_lines,
)
from seedbank.members.http import MemberRequest


def listing(request: MemberRequest) -> HttpResponse:
    donations = donations_listed(donations_visible_to(request.user))
    context = {"page_obj": page_of(request, donations)}
    return render(request, "bank/donation/list.html", context)


def offering(request: MemberRequest) -> HttpResponse:
    """Choose how many packets of which lots to give."""
    form = OfferForm(request.POST or None, lots=lots_to_offer(request.user))
    if request.method == "POST" and form.is_valid():
        donation = carry_out(
            form,
            lambda: offer(
                donor=request.user,
                by=request.user,
                at=now(),
                lines=form.lines(),
                note=form.cleaned_data["note"],
                client_key=form.cleaned_data["client_key"],
            ),
        )
        if donation is not None:
            messages.success(request, "Thank you. Print the sheet and lay it in the envelope.")
            return redirect("donation-detail", donation.number)
    return render(request, "bank/donation/offer.html", {"form": form})


def detail(request: MemberRequest, number: str) -> HttpResponse:
    donation = donation_for_reading(request.user, number)
    context = {
        "donation": donation,
        "lines": lines_of(donation),
        "is_mine": donation.donor_id == request.user.pk,
    }
    return render(request, "bank/donation/detail.html", context)


def sheet(request: MemberRequest, number: str) -> HttpResponse:
    """The sheet to lay into the envelope, as PDF."""
    donation = donation_for_reading(request.user, number)
    pdf = donation_sheet_pdf(donation, list(lines_of(donation)))
    headers = {"Content-Disposition": f'inline; filename="donation-{donation.number}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def withdraw(request: MemberRequest, number: str) -> HttpResponse:
    donation = donation_for_writing(request.user, number)
    form = WithdrawForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data["reason"]
        done = carry_out(
            form,
            lambda: withdraw_donation(donation=donation, by=request.user, at=now(), reason=reason),
        )
        if done is not None:
            messages.success(request, f"Offer {donation.number} is taken back.")
            return redirect("donation-detail", donation.number)
    return render(request, "bank/donation/withdraw.html", {"form": form, "donation": donation})


def receive(request: MemberRequest, number: str) -> HttpResponse:
    """Answer the lines of an offer; what is right is kept, the rest is shown again as typed."""
    donation = donation_for_receiving(request.user, number)
    forms = [
        (line, AnswerForm(request.POST or None, user=request.user, line=line))
        for line in waiting_lines(donation)
    ]
    if request.method == "POST":
        open_forms = [(line, form) for line, form in forms if not _answered(request, line, form)]
        done = len(forms) - len(open_forms)
        if done:
            messages.success(request, f"{done} of {len(forms)} answered. The donor can see it.")
        if not any(form.errors for _line, form in open_forms):
            return redirect("donation-detail", donation.number)
        forms = open_forms
    context = {"donation": donation, "forms": forms, "places": places_to_suggest(request.user)}
    return render(request, "bank/donation/receive.html", context)


def _answered(request: MemberRequest, line: DonationLine, form: AnswerForm) -> bool:
    """Write one line's answer if there is one; a refusal stands at its field."""
    if not form.is_valid() or not form.cleaned_data["answer"]:
        return False
    typed = form.cleaned_data

    def act() -> DonationLine:
        return answer_line(
            line=line,
            by=request.user,
            at=now(),
            answer=typed["answer"],
            packets_received=typed["packets_received"],
            packets=packets_numbered(typed["numbers"].splitlines(), field="numbers"),
            place=typed["place"],
            reason=typed["reason"],
        )

    return carry_out(form, act) is not None


def by_hand(request: MemberRequest) -> HttpResponse:
    """Seed that came without records here."""
    if not request.user.is_keeper:
        raise PermissionDenied
    form = HandDonationForm(request.POST or None, user=request.user, initial={"year": today().year})
    if request.method == "POST" and form.is_valid():
        donation = carry_out(
            form, lambda: enter_donation_by_hand(by=request.user, at=now(), **form.facts())
        )
        if donation is not None:
            messages.success(request, f"Donation {donation.number} is in the store.")
            return redirect("donation-detail", donation.number)
    context = {
        "form": form,
        "places": places_to_suggest(request.user),
        "members": members_to_suggest(),
        "taxa": taxon_suggestions(),
    }
    return render(request, "bank/donation/by_hand.html", context)
