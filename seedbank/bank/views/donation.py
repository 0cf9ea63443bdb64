from collections.abc import Callable, Sequence
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from crosses.base.changing import acts_on
from crosses.base.clock import now, today
from crosses.base.pages import carry_out, page_of, show
from crosses.forms.fields import WithdrawForm
from crosses.queries.finding import taxon_suggestions
from seedbank.bank.access import (
    donation_for_reading,
    donation_for_receiving,
    donation_for_writing,
    donations_visible_to,
    lot_for_writing,
    own_harvest_for_giving,
)
from seedbank.bank.actions.donation import (
    answer_line,
    enter_donation_by_hand,
    offer,
    withdraw_donation,
)
from seedbank.bank.actions.giving import give_by_hand, give_harvest, give_loose
from seedbank.bank.actions.receiving import check_in, correct_name
from seedbank.bank.actions.storing import packets_numbered
from seedbank.bank.forms.donation import (
    AnswerForm,
    CheckInForm,
    GiveForm,
    HandDonationForm,
    HandOfferForm,
    OfferForm,
)
from seedbank.bank.labels import donation_sheet_pdf
from seedbank.bank.models import Donation, DonationLine
from seedbank.bank.queries import (
    checked_in,
    checked_in_by_line,
    donations_listed,
    lines_of,
    lines_with_packets,
    lots_to_offer,
    members_to_suggest,
    places_to_suggest,
    seed_to_give,
    waiting_lines,
)
from seedbank.members.http import MemberRequest


def listing(request: MemberRequest) -> HttpResponse:
    donations = donations_listed(donations_visible_to(request.user))
    context = {"page_obj": page_of(request, donations)}
    return show(request, "bank/donation/list.html", context)


def offering(request: MemberRequest) -> HttpResponse:
    """Choose how many packets of which lots to give, or give loose seed at one tap."""
    form = OfferForm(request.POST or None, lots=lots_to_offer(request.user))
    if request.method == "POST" and form.is_valid():
        donation = carry_out(
            form,
            lambda: offer(
                donor=request.user,
                by=request.user,
                at=now(),
                lines=form.lines(),
                **form.facts(),
                client_key=form.cleaned_data["client_key"],
            ),
        )
        if donation is not None:
            messages.success(request, "Thank you. Print the sheet and lay it in the envelope.")
            return redirect("donation-detail", donation.number)
    return _offer_page(request, form=form)


@require_POST
def give_from_harvest(request: MemberRequest, number: str) -> HttpResponse:
    harvest = own_harvest_for_giving(request.user, number)
    return _give(request, number, lambda typed: give_harvest(harvest=harvest, **typed))


@require_POST
def give_from_lot(request: MemberRequest, number: str) -> HttpResponse:
    lot = lot_for_writing(request.user, number)

    def act(typed: dict[str, Any]) -> Donation:
        return give_loose(lot=lot, **{k: typed[k] for k in typed if k != "client_key"})

    return _give(request, number, act)


def _give(
    request: MemberRequest, number: str, act: Callable[[dict[str, Any]], Donation]
) -> HttpResponse:
    form = GiveForm(request.POST)
    if form.is_valid():
        who = {"donor": request.user, "by": request.user, "at": now()}
        donation = carry_out(form, lambda: act({**who, **form.cleaned_data}))
        if donation is not None:
            messages.success(request, "It is in your envelope. Give more, or print the sheet.")
            return redirect("donation-detail", donation.number)
    return _offer_page(request, refused={number: form})


def _offer_page(
    request: MemberRequest,
    *,
    form: OfferForm | None = None,
    refused: dict[str, GiveForm] | None = None,
) -> HttpResponse:
    """Render all there is to give; a form that was refused keeps what was typed."""
    refused = refused or {}
    loose = [
        (
            seed,
            refused.get(seed.record.number) or GiveForm(initial={"how_many": seed.packets}),
        )
        for seed in seed_to_give(request.user)
    ]
    context = {
        "form": form or OfferForm(lots=lots_to_offer(request.user)),
        "loose": loose,
        "is_refused": bool(refused),
    }
    return show(request, "bank/donation/offer.html", context)


def offer_by_hand(request: MemberRequest) -> HttpResponse:
    """Seed that has no records here: written down and offered at one go."""
    form = HandOfferForm(request.POST or None, initial={"year": today().year})
    if request.method == "POST" and form.is_valid():
        donation = carry_out(
            form,
            lambda: give_by_hand(donor=request.user, by=request.user, at=now(), **form.facts()),
        )
        if donation is not None:
            messages.success(request, "It is in your envelope. Give more, or print the sheet.")
            return redirect("donation-detail", donation.number)
    context = {"form": form, "taxa": taxon_suggestions()}
    return show(request, "bank/donation/offer_by_hand.html", context)


def detail(request: MemberRequest, number: str) -> HttpResponse:
    donation = donation_for_reading(request.user, number)
    lines = lines_with_packets(donation)
    context = {
        "donation": donation,
        "lines": lines,
        "waiting": sum(line.answer == DonationLine.Answer.WAITING for line in lines),
        "is_mine": donation.donor_id == request.user.pk,
    }
    return show(request, "bank/donation/detail.html", context)


def sheet(request: MemberRequest, number: str) -> HttpResponse:
    """The sheet to lay into the envelope, as PDF."""
    donation = donation_for_reading(request.user, number)
    pdf = donation_sheet_pdf(donation, list(lines_of(donation)))
    headers = {"Content-Disposition": f'inline; filename="donation-{donation.number}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def withdraw(request: MemberRequest, number: str) -> HttpResponse:
    donation = donation_for_writing(request.user, number)
    form = acts_on(donation, WithdrawForm(request.POST or None))
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data["reason"]
        done = carry_out(
            form,
            lambda: withdraw_donation(donation=donation, by=request.user, at=now(), reason=reason),
        )
        if done is not None:
            messages.success(request, f"Offer {donation.number} is taken back.")
            return redirect("donation-detail", donation.number)
    return show(request, "bank/donation/withdraw.html", {"form": form, "donation": donation})


def receive(request: MemberRequest, number: str) -> HttpResponse:
    """Answer the lines of an offer; what is right is kept, the rest is shown again as typed."""
    donation = donation_for_receiving(request.user, number)
    forms = _answer_forms(request, donation, request.POST or None)
    if request.method == "POST":
        open_forms = [(line, form) for line, form in forms if not _answered(request, line, form)]
        done = len(forms) - len(open_forms)
        if done:
            messages.success(request, f"{done} of {len(forms)} answered. The donor can see it.")
        if not any(form.errors for _line, form in open_forms):
            return redirect("donation-detail", donation.number)
        forms = open_forms
    return _receive_page(request, donation, forms=forms)


@require_POST
def receive_scan(request: MemberRequest, number: str) -> HttpResponse:
    """Check one packet in as it is scanned; the number of a lot leads to its line."""
    donation = donation_for_receiving(request.user, number)
    form = CheckInForm(request.POST, user=request.user)
    if form.is_valid():
        typed = form.cleaned_data
        page = f"{reverse('donation-receive', args=[number])}?place={typed['place'].code}"
        if typed["number"].startswith("L"):
            return redirect(f"{page}#lot-{typed['number']}")
        line = carry_out(
            form, lambda: check_in(donation=donation, by=request.user, at=now(), **typed)
        )
        if line is not None:
            words = f"{typed['number']}: {line.lot.name_text}, {checked_in(line)} of"
            messages.success(request, f"{words} {line.packets_offered} are in.")
            return redirect(page)
    return _receive_page(request, donation, scan=form)


def _receive_page(
    request: MemberRequest,
    donation: Donation,
    *,
    forms: Sequence[tuple[DonationLine, AnswerForm]] | None = None,
    scan: CheckInForm | None = None,
) -> HttpResponse:
    place = request.POST.get("place") or request.GET.get("place", "")
    context = {
        "donation": donation,
        "scan": scan or CheckInForm(user=request.user, initial={"place": place}),
        "forms": _answer_forms(request, donation) if forms is None else forms,
        "places": places_to_suggest(request.user),
        "taxa": taxon_suggestions(),
    }
    return show(request, "bank/donation/receive.html", context)


def _answer_forms(
    request: MemberRequest, donation: Donation, data: QueryDict | None = None
) -> list[tuple[DonationLine, AnswerForm]]:
    scanned = checked_in_by_line(donation)
    return [
        (
            line,
            AnswerForm(
                data,
                user=request.user,
                line=line,
                place=request.GET.get("place", ""),
                scanned=scanned.get(line.lot_id, 0),
            ),
        )
        for line in waiting_lines(donation)
    ]


def _answered(request: MemberRequest, line: DonationLine, form: AnswerForm) -> bool:
    """Put one line's name right and write its answer, if there is one; a refusal stands at its field."""
    if not form.is_valid():
        return False
    typed = form.cleaned_data
    if form.is_renamed and carry_out(form, lambda: _rename(request, line, typed)) is None:
        return False
    if not typed["answer"]:
        return False

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
            with_letter=True,
        )

    return carry_out(form, act) is not None


def _rename(request: MemberRequest, line: DonationLine, typed: dict[str, Any]) -> DonationLine:
    return correct_name(
        line=line, by=request.user, at=now(), name_text=typed["name_text"], taxon=typed["taxon"]
    )


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
    return show(request, "bank/donation/by_hand.html", context)
