"""What every page knows: the society's name and what the person signed in may do."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest

from seedbank.members.models import Member


def society(request: HttpRequest) -> dict[str, Any]:
    member = getattr(request, "user", None)
    if not isinstance(member, Member):
        return {"society_name": settings.SOCIETY_NAME}
    return {
        "society_name": settings.SOCIETY_NAME,
        "is_keeper": member.is_keeper,
        "is_packer": member.is_packer,
    }
