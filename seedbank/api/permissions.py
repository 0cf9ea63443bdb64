"""A key reads; only one made for it writes."""

from typing import Any

from rest_framework.permissions import SAFE_METHODS, BasePermission
from rest_framework.request import Request

from seedbank.members.models import ApiToken


class KeyMayWrite(BasePermission):
    message = "This key may only read. Make one that may write, on your own page."

    def has_permission(self, request: Request, view: Any) -> bool:
        if request.method in SAFE_METHODS or not isinstance(request.auth, ApiToken):
            return True
        return request.auth.may_write
