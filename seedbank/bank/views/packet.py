from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from crosses.base.clock import now
from crosses.base.pages import carry_out, show
from crosses.formats.sheetpicture import sheet_picture
from crosses.forms.sheet import SheetForm, remember_sheet, remembered_sheet
from seedbank.bank.access import (
    lot_for_reading,
    lot_for_writing,
    packet_for_writing,
)
from seedbank.bank.actions.packet import discard, make_packets, split_packet
from seedbank.bank.actions.storing import store_packets
from seedbank.bank.forms.packet import DiscardForm, MakePacketsForm, SplitForm, StoreForm
from seedbank.bank.labels import labels_pdf
from seedbank.bank.queries import (
    packet_suggestion,
    packets_to_label,
    places_to_suggest,
    seeds_not_in_packets,
)
from seedbank.members.http import MemberRequest


def add(request: MemberRequest, number: str) -> HttpResponse:
    """Make packets of a lot; the labels come right after."""
    lot = lot_for_writing(request.user, number)
    plan = packet_suggestion(lot)
    initial = {"how_many": plan.packets, "seeds_each": plan.seeds_per_packet} if plan else {}
    form = MakePacketsForm(
        request.POST or None, user=request.user, of_bank=lot.owner_id is None, initial=initial
    )
    if request.method == "POST" and form.is_valid():
        packets = carry_out(
            form,
            lambda: make_packets(lot=lot, by=request.user, at=now(), **form.cleaned_data),
        )
        if packets is not None:
            messages.success(
                request,
                f"{len(packets)} packets, {packets[0].number} to {packets[-1].number}."
                " Print their labels now, before they are mixed up.",
            )
            first = f"?from={packets[0].number}&to={packets[-1].number}"
            return redirect(f"{reverse('packets-labels', args=[lot.number])}{first}")
    context = {
        "form": form,
        "lot": lot,
        "plan": plan,
        "loose": seeds_not_in_packets(lot),
        "places": places_to_suggest(request.user),
    }
    return show(request, "bank/packet/add.html", context)


def labels(request: MemberRequest, number: str) -> HttpResponse:
    """Choose a sheet; with a sheet chosen, the PDF."""
    lot = lot_for_reading(request.user, number)
    packets = packets_to_label(
        lot,
        request.user,
        numbers=request.GET.getlist("packets"),
        first=request.GET.get("from", ""),
        last=request.GET.get("to", ""),
    )
    form = SheetForm(
        request.GET if "sheet" in request.GET else None, initial=remembered_sheet(request)
    )
    picture = ""
    if packets and form.is_bound and form.is_valid():
        sheet, start_at = form.cleaned_data["label_sheet"], form.cleaned_data["start_at"]
        if "look" not in request.GET:
            remember_sheet(request, form, labels_printed=len(packets))
            headers = {"Content-Disposition": f'inline; filename="labels-{lot.number}.pdf"'}
            pdf = labels_pdf(packets, sheet, start_at=start_at)
            return HttpResponse(pdf, content_type="application/pdf", headers=headers)
        lines = [[packet.number, lot.name_text, str(lot.year)] for packet in packets]
        picture = sheet_picture(sheet, lines, start_at=start_at)
    context = {"form": form, "lot": lot, "packets": packets, "picture": picture}
    return show(request, "bank/packet/labels.html", context)


def store(request: MemberRequest) -> HttpResponse:
    """Put packets into a place: the right ones are put there, each wrong number is told."""
    numbers = request.GET.getlist("packets")
    if of_lot := request.GET.get("lot"):
        lot = lot_for_reading(request.user, of_lot)
        numbers += [packet.number for packet in packets_to_label(lot, request.user)]
    initial = {"packets": "\n".join(numbers)}
    form = StoreForm(request.POST or None, user=request.user, initial=initial)
    told = None
    if request.method == "POST" and form.is_valid():
        told = store_packets(
            lines=form.cleaned_data["packets"].splitlines(),
            place=form.cleaned_data["place"],
            by=request.user,
            at=now(),
        )
        if told.stored:
            place = form.cleaned_data["place"]
            messages.success(request, f"{len(told.stored)} packets are in {place.code} now.")
        if not told.refused:
            return redirect("packet-store")
    context = {"form": form, "told": told, "places": places_to_suggest(request.user)}
    return show(request, "bank/packet/store.html", context)


def split(request: MemberRequest, number: str) -> HttpResponse:
    packet = packet_for_writing(request.user, number)
    form = SplitForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        parts = form.cleaned_data["parts"]
        made = carry_out(
            form, lambda: split_packet(packet=packet, parts=parts, by=request.user, at=now())
        )
        if made is not None:
            messages.success(request, f"{packet.number} is split. Print the new labels now.")
            query = "&".join(f"packets={part.number}" for part in made)
            return redirect(f"{reverse('packets-labels', args=[packet.lot.number])}?{query}")
    return show(request, "bank/packet/split.html", {"form": form, "packet": packet})


def discard_page(request: MemberRequest, number: str) -> HttpResponse:
    packet = packet_for_writing(request.user, number)
    form = DiscardForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        why = form.cleaned_data["why"]
        done = carry_out(form, lambda: discard(packet=packet, by=request.user, at=now(), why=why))
        if done is not None:
            messages.success(request, f"{packet.number} is discarded; its story stays.")
            return redirect("packet-detail", packet.number)
    return show(request, "bank/packet/discard.html", {"form": form, "packet": packet})
