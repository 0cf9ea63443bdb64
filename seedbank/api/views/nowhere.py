from django.http import HttpResponseBase
from drf_spectacular.utils import extend_schema
from rest_framework.exceptions import NotFound
from rest_framework.request import Request

from seedbank.api.conditional import Conditional


@extend_schema(exclude=True)
class NowhereView(Conditional):
    """Every address that is none of ours, so that a script is told so in its own form."""

    def initial(self, request: Request, *args: object, **kwargs: object) -> None:
        super().initial(request, *args, **kwargs)
        raise NotFound(
            "There is no such address. All of them are in the guide, and end in a slash."
        )

    def get(self, request: Request, rest: str) -> HttpResponseBase:
        """Stand for every method: `initial` has answered already."""
        raise NotImplementedError

    post = put = patch = delete = get
