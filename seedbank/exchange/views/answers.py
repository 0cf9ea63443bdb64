"""Answers that several pages of the exchange give."""

from django.http import HttpResponse

from seedbank.exchange.actions.recall import TakenBack


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


def taken_back_words(done: TakenBack) -> str:
    """Say what became of packets that were given already; nothing where none was."""
    words = ""
    if done.taken_out:
        packets = "1 packet is" if done.taken_out == 1 else f"{done.taken_out} packets are"
        words += f" {packets} out of parcels that were not posted."
    if done.told:
        words += f" Mail goes to {done.told} member{'' if done.told == 1 else 's'} who had it."
    if done.sealed:
        words += f" Open these by hand and take it out: {', '.join(done.sealed)}."
    return words
