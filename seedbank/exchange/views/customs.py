from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect

from crosses.base.changing import change_form
from crosses.base.clock import today
from crosses.base.pages import carry_out, show
from seedbank.exchange import access
from seedbank.exchange.actions.customs import save_customs_words, weigh_parcel
from seedbank.exchange.models import CustomsWords
from seedbank.exchange.packing_forms import CustomsWordsForm, WeightForm
from seedbank.exchange.queries.customs import customs_papers, customs_words_listed
from seedbank.exchange.slip import customs_pdf
from seedbank.exchange.views.answers import pdf_answer
from seedbank.members.http import MemberRequest


def customs_list(request: MemberRequest) -> HttpResponse:
    """The words for each country, for whoever packs."""
    access.require_packer(request.user)
    context = {"words": customs_words_listed()}
    return show(request, "exchange/customs/list.html", context)


def customs_add(request: MemberRequest) -> HttpResponse:
    access.require_keeper(request.user)
    return _words_page(request, CustomsWords(checked_on=today(), checked_by=request.user.name))


def customs_change(request: MemberRequest, key: int) -> HttpResponse:
    return _words_page(request, access.customs_words_for_writing(request.user, key))


def _words_page(request: MemberRequest, words: CustomsWords) -> HttpResponse:
    # Words that are not kept yet have no version.
    form = (
        change_form(request, words, lambda sent, words: CustomsWordsForm(sent, instance=words))
        if words.pk
        else CustomsWordsForm(request.POST or None, instance=words)
    )
    if request.method == "POST" and form.is_valid():
        saved = carry_out(
            form, lambda: save_customs_words(words=words, by=request.user, **form.cleaned_data)
        )
        if saved is not None:
            messages.success(request, f"The words for {saved} are kept.")
            return redirect("customs-list")
    return show(request, "exchange/customs/form.html", {"form": form, "words": words})


def parcel_customs(request: MemberRequest, number: str) -> HttpResponse:
    """What the customs form of a parcel says; it is weighed here before it is printed."""
    parcel = access.parcel_for_writing(request.user, number)
    form = change_form(
        request,
        parcel,
        lambda sent, parcel: WeightForm(sent, initial={"weight_grams": parcel.weight_grams}),
    )
    if request.method == "POST" and form.is_valid():
        weighed = carry_out(
            form, lambda: weigh_parcel(parcel=parcel, by=request.user, **form.cleaned_data)
        )
        if weighed is not None:
            messages.success(request, f"{number} weighs {weighed.weight_grams} g.")
            return redirect("parcel-customs", number)
    seen = access.keys_with_address(request.user, [parcel])
    papers = customs_papers([parcel], with_address=seen)
    context = {"parcel": parcel, "paper": papers[0] if papers else None, "form": form}
    return show(request, "exchange/customs/parcel.html", context)


def parcel_customs_pdf(request: MemberRequest, number: str) -> HttpResponse:
    parcel = access.parcel_for_writing(request.user, number)
    papers = customs_papers([parcel], with_address=access.keys_with_address(request.user, [parcel]))
    if not papers:
        messages.error(request, "This parcel does not leave the country; it needs no such paper.")
        return redirect("parcel-detail", number)
    return pdf_answer(customs_pdf(papers), f"customs-{number}.pdf")
