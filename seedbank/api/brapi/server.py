"""What this server answers, and of which crops."""

import re

from django.conf import settings
from rest_framework.exceptions import NotFound
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.access import plants_visible_to
from seedbank.api.brapi.envelope import PAGING, BrapiView, single

_CONVERTER = re.compile(r"<str:(\w+)>")


class ServerInfo(BrapiView):
    """The calls of this server; the one answer that needs no key, as it tells of no record."""

    permission_classes = (AllowAny,)
    parameters = frozenset({"contentType", "dataType"})

    def get(self, request: Request) -> Response:
        asked = request.query_params
        wanted = asked.get("contentType", asked.get("dataType", "application/json"))
        return single(
            {
                "serverName": settings.SOCIETY_NAME,
                "serverDescription": "Plants, crosses and seed lots of a plant society.",
                "organizationName": settings.SOCIETY_NAME,
                "organizationURL": settings.SITE_ADDRESS,
                "documentationURL": f"{settings.SITE_ADDRESS}/api/v1/",
                "calls": _calls() if wanted == "application/json" else [],
            }
        )


def _calls() -> list[dict[str, object]]:
    """Read the calls off the url map, so that none is promised that is not there."""
    from seedbank.api.brapi.urls import CALLS

    services = [_CONVERTER.sub(r"{\1}", str(route.pattern)) for route in CALLS]
    return [
        {
            "service": service,
            "methods": ["GET"],
            "versions": ["2.1"],
            "contentTypes": ["application/json"],
            "dataTypes": ["application/json"],
        }
        for service in services
    ]


class CommonCropNames(BrapiView):
    """A society's crop is the genus: the name under which its members ask for seed."""

    parameters = PAGING

    def get(self, request: Request) -> Response:
        plants = plants_visible_to(self.reader).filter(withdrawn_at=None, taxon__isnull=False)
        genera = plants.order_by("taxon__genus").values_list("taxon__genus", flat=True).distinct()
        return self.listed(genera, list)


class NoSuchCall(BrapiView):
    """A call of the standard that this server does not answer, said as the standard says it."""

    permission_classes = (AllowAny,)

    def initial(self, request: Request, *args: object, **kwargs: object) -> None:
        raise NotFound("This call is not answered here; serverinfo tells which are.")
