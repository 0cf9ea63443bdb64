from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from crosses.calc.errors import BadInput
from seedbank.members.http import MemberRequest
from seedbank.web.queries import find_by_name, page_of_number


def find(request: MemberRequest) -> HttpResponse:
    """One box for everything: a number goes to its page, words are looked for in names."""
    text = request.GET.get("q", "").strip()
    problem = ""
    try:
        page = page_of_number(text) if text else None
    except BadInput as wrong:
        page, problem = None, wrong.message
    if page is not None:
        return redirect(page[0], page[1])
    found = find_by_name(text, request.user) if len(text) >= 2 else []
    return render(request, "web/find.html", {"text": text, "found": found, "problem": problem})


def short(request: HttpRequest, number: str) -> HttpResponse:
    """Lead the address of a QR code to the page of what it is stuck on."""
    try:
        page = page_of_number(number)
    except BadInput as wrong:
        return render(
            request, "web/find.html", {"text": number, "problem": wrong.message}, status=404
        )
    if page is None:
        return render(
            request,
            "web/find.html",
            {"text": number, "problem": "That is no number of ours."},
            status=404,
        )
    return redirect(page[0], page[1])
