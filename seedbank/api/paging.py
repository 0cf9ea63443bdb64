"""Pages by cursor: stable while rows arrive."""

from typing import Any

from rest_framework.pagination import CursorPagination, LimitOffsetPagination


class Paging(CursorPagination):
    ordering = "id"
    page_size_query_param = "page_size"
    max_page_size = 500
    cursor_query_description = "Where a page begins; taken from `next`."
    page_size_query_description = f"Rows a page, {max_page_size} at most."

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """Say it in OpenAPI 3.1, which would read the framework's "nullable" as never null."""
        address = {"type": ["string", "null"], "format": "uri"}
        return {
            "type": "object",
            "required": ["next", "previous", "results"],
            "properties": {"next": address, "previous": address, "results": schema},
        }


class LinePaging(Paging):
    """The exchange list, in the order of its numbers."""

    ordering = "line_number"


class GroupPaging(LimitOffsetPagination):
    """Groups of a summary, most seed first; few at once, because each is fitted when asked for."""

    default_limit = 20
    max_limit = 50
