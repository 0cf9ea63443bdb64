"""What administrators may see but not type over."""

from typing import Any

from django.http import HttpRequest


class LookOnly:
    """Records that acts wrote: seen here, and put right by another act on the pages."""

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
