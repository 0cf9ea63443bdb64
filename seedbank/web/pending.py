"""Names that base.html needs while the apps are being written; removed when the last one lands."""

from django.http import HttpRequest, HttpResponse
from django.urls import path


def pending(request: HttpRequest) -> HttpResponse:
    return HttpResponse("", status=404)


NAMES = (
    "round-list packing"
)
urlpatterns = [path(f"pending/{name}/", pending, name=name) for name in NAMES.split()]
