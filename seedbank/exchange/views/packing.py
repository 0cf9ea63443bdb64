from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from crosses.base.clock import now, today
from crosses.base.pages import carry_out, carry_out_or_say, page_of, show
from seedbank.exchange import access
from seedbank.exchange.actions import picking
from seedbank.exchange.models import Parcel
from seedbank.exchange.packing_forms import CloseForm, PostForm, ScanForm, ShortForm
from seedbank.exchange.queries.packing import (
    items_in_tray_order,
    packers_of,
    packing_rows,
    pick_list,
    progress_of,
    released_items,
    with_progress,
)
from seedbank.exchange.queries.papers import papers_of
from seedbank.exchange.slip import picklist_pdf
from seedbank.exchange.views.answers import pdf_answer
from seedbank.members.access import address_for
from seedbank.members.http import MemberRequest


def packing(request: MemberRequest) -> HttpResponse:
    """How far everybody is, and which parcel to take next."""
    slug = request.GET.get("round", "")
    parcels = access.parcels_to_pack(request.user, slug=slug)
    shown = with_progress(parcels)
    if request.GET.get("show", "open") == "open":
        shown = shown.filter(posted_on=None)
    page = page_of(request, shown)
    context = {
        "progress": progress_of(parcels),
        "packers": packers_of(parcels),
        "rounds": access.finished_rounds(),
        "page_obj": page,
        "rows": packing_rows(page.object_list),
        "slug": slug,
        "show": request.GET.get("show", "open"),
    }
    return show(request, "exchange/packing/board.html", context)


def picklist(request: MemberRequest) -> HttpResponse:
    """What to take from the store for the parcels chosen, in the order of a walk."""
    parcels = access.parcels_chosen(request.user, request.GET)
    lines = pick_list(parcels)
    if "pdf" in request.GET:
        return pdf_answer(picklist_pdf(lines), "pick-list.pdf")
    context = {
        "lines": lines,
        "numbers": sorted({line.parcel_number for line in lines}),
        "query": request.GET.urlencode(),
    }
    return show(request, "exchange/packing/picklist.html", context)


def parcel_detail(request: MemberRequest, number: str) -> HttpResponse:
    parcel = access.parcel_for_reading(request.user, number)
    return parcel_page(request, parcel)


def parcel_page(
    request: MemberRequest,
    parcel: Parcel,
    form: ScanForm | None = None,
    close_form: CloseForm | None = None,
) -> HttpResponse:
    form, close_form = form or ScanForm(), close_form or CloseForm()
    may_pack = access.may_pack(request.user)
    papers = papers_of(parcel) if may_pack else None
    close_form.fields["held_reason"].required = bool(papers and papers.holds)
    may = access.may_see_address(request.user, parcel)
    is_in_hand = parcel.packer_id == request.user.pk or access.may_keep(request.user)
    items = list(items_in_tray_order([parcel]))
    context = {
        "parcel": parcel,
        "items": items,
        "packed": sum(item.packed_at is not None for item in items),
        "released": released_items(parcel) if may_pack else (),
        "address": address_for(request.user, parcel.member, may=may),
        "may_pack": may_pack,
        "may_stop_reports": parcel.member_id == request.user.pk or access.may_keep(request.user),
        "papers": papers,
        "is_abroad": parcel.member.country != settings.SOCIETY_COUNTRY,
        "is_in_hand": is_in_hand and may_pack and parcel.packer_id is not None,
        "form": form,
        "close_form": close_form,
        "post_form": PostForm(initial={"posted_on": today()}),
    }
    template = "exchange/packing/parcel.html"
    return show(request, template, context)


@require_POST
def parcel_take(request: MemberRequest, number: str) -> HttpResponse:
    parcel = access.parcel_for_writing(request.user, number)
    act = picking.put_down if "down" in request.POST else picking.take_in_hand
    carry_out_or_say(request, lambda: act(parcel=parcel, by=request.user, at=now()))
    return redirect("parcel-detail", number)


@require_POST
def parcel_scan(request: MemberRequest, number: str) -> HttpResponse:
    """Check one packet into the parcel; a wrong one is told what it is and where it belongs."""
    parcel = access.parcel_for_writing(request.user, number)
    form = ScanForm(request.POST)
    if form.is_valid():
        item = carry_out(
            form,
            lambda: picking.scan(
                parcel=parcel, number=form.cleaned_data["number"], by=request.user, at=now()
            ),
            # The same packet held to the scanner again is to be told that it is in already.
            once=False,
        )
        if item is not None:
            messages.success(request, f"{item.packet.number} is in.")
            return redirect("parcel-detail", number)
    return parcel_page(request, parcel, form)


def parcel_short(request: MemberRequest, number: str, key: int) -> HttpResponse:
    """Say what is wrong with a packet that was to be packed."""
    parcel = access.parcel_for_writing(request.user, number)
    item = get_object_or_404(items_in_tray_order([parcel]), pk=key)
    form = ShortForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        words = dict(form.fields["what"].choices)[told["what"]]  # type: ignore[attr-defined]
        reason = f"{words}. {told['note']}".strip()
        other = carry_out(
            form,
            lambda: (
                picking.short_item(
                    item=item,
                    by=request.user,
                    at=now(),
                    reason=reason,
                    stays_in_store=told["what"] == ShortForm.STAYS,
                ),
            ),
        )
        if other is not None:
            instead = other[0]
            words = (
                f"Take {instead.packet.number} instead."
                if instead
                else "There is no other packet; the member is owed one at the next top-up."
            )
            messages.warning(request, words)
            return redirect("parcel-detail", number)
    context = {"parcel": parcel, "item": item, "form": form}
    return show(request, "exchange/packing/short.html", context)


@require_POST
def parcel_take_out(request: MemberRequest, number: str, key: int) -> HttpResponse:
    parcel = access.parcel_for_writing(request.user, number)
    item = get_object_or_404(items_in_tray_order([parcel]), pk=key)
    carry_out_or_say(request, lambda: picking.take_out(item=item, by=request.user, at=now()))
    return redirect("parcel-detail", number)
