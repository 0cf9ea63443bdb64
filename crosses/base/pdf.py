"""The only door to WeasyPrint: HTML in, tagged PDF out, nothing fetched from outside.

WeasyPrint must never run in two threads at once (its C libraries corrupt their lists), so the
door holds a lock; bulk work runs in processes, each with a door of its own.
"""

import atexit
import threading
from functools import cache
from pathlib import Path
from typing import Any

FONT_FOLDER = Path(__file__).resolve().parent.parent.parent / "seedbank/web/static/web/fonts"
PRINT_FOLDER = Path(__file__).resolve().parent.parent.parent / "templates/print"

_lock = threading.Lock()


@cache
def _font_configuration() -> Any:
    from weasyprint.text.fonts import FontConfiguration

    # It frees what C libraries hold, and must do so while they are still loaded.
    atexit.register(_font_configuration.cache_clear)
    return FontConfiguration()


@cache
def _stylesheet(name: str) -> Any:
    from weasyprint import CSS

    return CSS(
        filename=str(PRINT_FOLDER / name), font_config=_font_configuration(), url_fetcher=_fetcher()
    )


@cache
def _own_files() -> frozenset[str]:
    """Return the whole address of each font of ours, the one spelling in which it may be asked for."""
    return frozenset(font.as_uri() for font in FONT_FOLDER.glob("*.ttf"))


@cache
def _fetcher() -> Any:
    """Return a fetcher that serves our own fonts by name and refuses everything else.

    It compares whole addresses and never takes one apart: a path has too many spellings (steps
    upwards, percent signs, links) for a rule about folders to know them all.
    """
    from weasyprint.urls import URLFetcher

    class OwnFilesOnly(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: Any = None) -> Any:
            if url not in _own_files():
                raise ValueError(f"Print templates fetch nothing: {url}")
            return super().fetch(url, headers)

    return OwnFilesOnly(allowed_protocols=["file"])


def render_pdf(*documents: str, stylesheet: str) -> bytes:
    """Lay out whole HTML documents and return them as one tagged PDF (PDF/UA-1).

    `stylesheet` is a file of templates/print. The HTML needs a language and a title. Each document
    counts its own pages: "Page 1 of 2" is of that document, also where several are joined.
    """
    from weasyprint import HTML

    with _lock:
        laid_out = [
            HTML(string=html, url_fetcher=_fetcher(), base_url=None).render(
                stylesheets=[_stylesheet(stylesheet)], font_config=_font_configuration()
            )
            for html in documents
        ]
        joined = laid_out[0].copy([page for document in laid_out for page in document.pages])
        pdf: bytes = joined.write_pdf(pdf_variant="pdf/ua-1")
        return pdf


def render_pdf_file(job: tuple[Path, str, str]) -> Path:
    """Lay out (path, HTML, stylesheet) and write it there; for bulk work in processes of its own."""
    path, html, stylesheet = job
    # A file that is there is whole: whoever goes on after a kill counts on it.
    half = path.with_suffix(".half")
    half.write_bytes(render_pdf(html, stylesheet=stylesheet))
    half.replace(path)
    return path
