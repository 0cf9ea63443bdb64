from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect

from crosses.base.clock import now
from crosses.base.pages import show
from crosses.formats.sheetpicture import sheet_picture
from crosses.forms.sheet import SheetForm, remember_sheet, remembered_sheet
from seedbank.exchange import access
from seedbank.exchange.jobs import PARCEL_PAPERS
from seedbank.exchange.labels import address_labels as labels_of
from seedbank.exchange.labels import address_labels_pdf
from seedbank.exchange.models import Parcel
from seedbank.exchange.packing_forms import PrintForm
from seedbank.exchange.queries.slip import slips_for
from seedbank.exchange.slip import slip_pdf
from seedbank.exchange.views.answers import pdf_answer
from seedbank.jobs.actions import queue_job
from seedbank.members.http import MemberRequest

# More than these take longer than a page may; they are printed in the background.
MOST_SLIPS = 25


def parcel_slip(request: MemberRequest, number: str) -> HttpResponse:
    """The packing slip of one parcel, with the address for those who may see it."""
    parcel = access.parcel_for_reading(request.user, number)
    return pdf_answer(_slips(request, [parcel]), f"slip-{number}.pdf")


def slips(request: MemberRequest) -> HttpResponse:
    """The slips of several parcels as one file, each on a sheet of its own."""
    parcels = list(access.parcels_chosen(request.user, request.GET)[:MOST_SLIPS])
    if not parcels:
        raise PermissionDenied("Choose the parcels first.")
    return pdf_answer(_slips(request, parcels), "slips.pdf")


def parcels_print(request: MemberRequest) -> HttpResponse:
    """Ask for the papers of the parcels chosen, or of a whole round, as work in the background."""
    parcels = access.parcels_chosen(request.user, request.GET)
    numbers = list(parcels.values_list("number", flat=True))
    form = PrintForm(request.POST or None)
    if request.method == "POST" and numbers and form.is_valid():
        words = dict(form.fields["what"].choices)  # type: ignore[attr-defined]
        what = form.cleaned_data["what"]
        many = f"{len(numbers)} parcels" if len(numbers) > 1 else f"parcel {numbers[0]}"
        job = queue_job(
            kind=PARCEL_PAPERS,
            title=f"{words[what].partition(',')[0]} of {many}",
            by=request.user,
            at=now(),
            arguments={"what": what, "shape": form.cleaned_data["shape"], "numbers": numbers},
            client_key=form.cleaned_data["client_key"],
        )
        return redirect("job-detail", job.pk)
    context = {"form": form, "numbers": numbers}
    return show(request, "exchange/packing/print.html", context)


def address_labels(request: MemberRequest) -> HttpResponse:
    """Choose a sheet of labels; with one chosen, the PDF. Only for parcels in hand."""
    parcels = access.parcels_to_address(request.user, request.GET)
    form = SheetForm(
        request.GET if "sheet" in request.GET else None, initial=remembered_sheet(request)
    )
    picture = ""
    if parcels and form.is_bound and form.is_valid():
        sheet, start_at = form.cleaned_data["label_sheet"], form.cleaned_data["start_at"]
        labels = labels_of(parcels)
        if "look" not in request.GET:
            remember_sheet(request, form, labels_printed=len(labels))
            return pdf_answer(address_labels_pdf(labels, sheet, start_at=start_at), "addresses.pdf")
        lines = [[line.text for line in label.lines] for label in labels]
        picture = sheet_picture(sheet, lines, start_at=start_at)
    context = {
        "form": form,
        "parcels": parcels,
        "picture": picture,
        "chosen": access.parcels_chosen(request.user, request.GET).count(),
    }
    return show(request, "exchange/packing/addresses.html", context)


def _slips(request: MemberRequest, parcels: list[Parcel]) -> bytes:
    seen = access.keys_with_address(request.user, parcels)
    return slip_pdf(slips_for(parcels, request.user, with_address=seen))
