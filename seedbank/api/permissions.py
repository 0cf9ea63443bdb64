"""A key reads; only one made for more writes, and only one made for it does a keeper's acts."""

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


class KeeperWithKey(BasePermission):
    message = "This is for a seed keeper, with a key made for what a keeper does."

    def has_permission(self, request: Request, view: Any) -> bool:
        if isinstance(request.auth, ApiToken) and not request.auth.may_keep:
            return False
        return bool(getattr(request.user, "is_keeper", False))
