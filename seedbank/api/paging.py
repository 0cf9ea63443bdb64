"""Pages by cursor: stable while rows arrive."""

from rest_framework.pagination import CursorPagination


class Paging(CursorPagination):
    ordering = "id"
    page_size_query_param = "page_size"
    max_page_size = 500
