"""Tables for whoever asks for CSV."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.http import StreamingHttpResponse
from rest_framework.renderers import JSONRenderer

from seedbank.formats.tables import write_csv
from seedbank.formats.tables.writing import Value


class TableRenderer(JSONRenderer):
    """Stands for CSV among what may be asked for; what it writes itself is only ever an error.

    The table is streamed by the view and never passes here.
    """

    media_type = "text/csv"
    format = "csv"

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        written: bytes = super().render(data, "application/json", renderer_context)
        return written


def table(rows: Iterable[Sequence[Value]], header: Sequence[str], name: str) -> Any:
    """Stream rows as a CSV file."""
    response = StreamingHttpResponse(
        write_csv(rows, header), content_type="text/csv; charset=utf-8"
    )
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
