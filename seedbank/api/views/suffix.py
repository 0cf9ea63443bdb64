from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponseBase
from django.urls import resolve
from django.views.decorators.csrf import csrf_exempt

from seedbank.api.schema import ROOT


@csrf_exempt
@login_not_required
def as_csv(request: HttpRequest, rest: str) -> HttpResponseBase:
    """Answer germination.csv as germination/?format=csv; keys are asked for there, as always."""
    asked = request.GET.copy()
    asked["format"] = "csv"
    request.GET = asked  # type: ignore[assignment]  # still what was asked, with one word more
    view, args, named = resolve(f"{ROOT}{rest}/")
    answer: HttpResponseBase = view(request, *args, **named)
    return answer
