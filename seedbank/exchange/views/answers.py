"""Answers that several pages of the exchange give."""

from django.http import HttpResponse


def pdf_answer(pdf: bytes, filename: str) -> HttpResponse:
    """Show a PDF in the window; it may hold an address, so no cache keeps it."""
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'inline; filename="{filename}"',
            "Cache-Control": "private, no-store",
        },
    )
