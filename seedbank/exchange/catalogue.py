"""The list on paper: what it says is in queries.catalogue, how it looks in templates/print."""

import hashlib
from pathlib import Path

from django.conf import settings
from django.template.loader import render_to_string

from crosses.base.pdf import render_pdf
from seedbank.exchange.queries.catalogue import Catalogue
from seedbank.exchange.queries.round import country_allowances_in_words


def catalogue_html(catalogue: Catalogue) -> str:
    context = {
        "catalogue": catalogue,
        "round": catalogue.round,
        "by_country": country_allowances_in_words(catalogue.round),
        "society_name": settings.SOCIETY_NAME,
        "site_address": settings.SITE_ADDRESS,
    }
    return render_to_string("print/catalogue.html", context)


def kept_catalogue(html: str, slug: str) -> Path | None:
    """Return the laid-out list if nothing in it has changed since it was laid out."""
    path = _path(html, slug)
    return path if path.is_file() else None


def lay_out_catalogue(html: str, slug: str) -> Path:
    """Lay a list out in two columns as a tagged PDF, and keep it for all who ask: it is everybody's."""
    path = _path(html, slug)
    path.parent.mkdir(parents=True, exist_ok=True)
    unfinished = path.with_suffix(".part")
    unfinished.write_bytes(render_pdf(html, stylesheet="catalogue.css"))
    for old in path.parent.glob("*.pdf"):
        old.unlink()
    return unfinished.replace(path)


def _path(html: str, slug: str) -> Path:
    digest = hashlib.sha256(html.encode()).hexdigest()[:32]
    return Path(settings.VAR_DIR) / "catalogues" / slug / f"{digest}.pdf"
