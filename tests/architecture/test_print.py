"""What is printed fetches nothing and takes no member's words for markup, whatever they are."""

import datetime
import html.parser
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from crosses.base import pdf

PRINT = Path(settings.BASE_DIR) / "templates/print"
DOCUMENTS = sorted(p.name for p in PRINT.glob("*.html") if not p.name.startswith("_"))
# Drawn by ourselves and let through as markup; each is built from our own strokes and figures.
DRAWN = {"qr", "code", "svg", "report_code"}
DRAWING = SafeString("<svg></svg>")
FONTS = sorted(pdf.FONT_FOLDER.glob("*.ttf"))
FONT = FONTS[0].as_uri()
FOLDER = pdf.FONT_FOLDER.as_uri()
UP = "/%2e%2e" * 12
# Every way of writing a way out that a checker of paths has been known to miss.
HOSTILE_ADDRESSES = [
    "file:///etc/passwd",
    "file://localhost/etc/passwd",
    "FILE:///etc/passwd",
    "file:/etc/passwd",
    "/etc/passwd",
    "../../../manage.py",
    f"{FOLDER}{UP}/etc/passwd",
    f"{FOLDER}{UP.upper()}/etc/passwd",
    f"{FOLDER}{'/%252e%252e' * 12}/etc/passwd",
    f"{FOLDER}{'/..' * 12}/etc/passwd",
    f"{FOLDER}{'/..;' * 12}/etc/passwd",
    f"{FOLDER}/..%2f..%2f..%2fstatic_files.py",
    f"{FOLDER}/",
    FOLDER,
    f"{FOLDER}/OFL.txt",
    f"{FONT}%00.png",
    f"{FONT}?x=/etc/passwd",
    f"{FONT}#fragment",
    f"{FONT}/../OFL.txt",
    f" {FONT}",
    FONT.replace("file://", "file://other.example.org"),
    "http://127.0.0.1:1/x",
    "https://169.254.169.254/latest/meta-data/",
    "ftp://127.0.0.1/x",
    "gopher://127.0.0.1/x",
    "data:text/plain,x",
    "javascript:alert(1)",
    "//127.0.0.1/x",
    "\\\\127.0.0.1\\share",
    "",
]
MARKS = (
    "</style></title></td></p><script src='http://127.0.0.1:1/s.js'></script>"
    "<img src='file:///etc/passwd'><link rel='stylesheet' href='http://127.0.0.1:1/l.css'>"
    "<style>@import url(file:///etc/passwd); p{background:url('http://127.0.0.1:1/b')}</style>"
    "<object data='file:///etc/passwd'></object><a href='file:///etc/passwd' rel='attachment'>a</a>"
    f'" style="background:url({FOLDER}{UP}/etc/passwd)" x="'
    "' onload='x' \x00\x01\x0b\x1f\x7f\x85\u202e\u2028{{ secret }}{% load x %}&lt;script&gt;"
)


def _of_its_own_type(name: str) -> object:
    """Return a figure, a day or a drawing where the database holds no words, hostile words elsewhere."""
    if name in DRAWN:
        return DRAWING
    if name.endswith("_mm"):
        return 50.0
    if name.endswith("_on"):
        return datetime.date(2026, 5, 20)
    if name == "slug":
        return "a-round"
    return None if name == "germination" else Hostile()


class Hostile(str):
    """Text that means harm; so is whatever a template asks of it, however deep."""

    def __new__(cls) -> "Hostile":
        return super().__new__(cls, MARKS)

    def __getitem__(self, name: object) -> object:
        if isinstance(name, str):
            return _of_its_own_type(name)
        return super().__getitem__(name)  # type: ignore[index]

    def __iter__(self) -> Iterator["Hostile"]:  # type: ignore[override]
        return iter([Hostile()] * 4)


class _Tags(html.parser.HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.seen: set[str] = set()
        self.attributes: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.add(tag)
        self.attributes |= {name for name, _ in attrs}


def _written(template: str) -> str:
    names = {
        *("pages", "sheet", "society_name", "site_address", "round", "catalogue", "by_country"),
        *("paper", "donation", "lines", "parcels", "report", "slip", "code_mm", "placed"),
    }
    context: dict[str, object] = dict.fromkeys(names, Hostile())
    context |= {name: _of_its_own_type(name) for name in (*DRAWN, "code_mm")}
    context["by_country"] = [(Hostile(), Hostile())]
    if template == "slip.html":
        context["lines"] = [(Hostile(), DRAWING)]
    if template == "donation.html":
        context["lines"] = [(Hostile(), Hostile(), Hostile(), DRAWING)]
    return render_to_string(f"print/{template}", context)


def test_every_document_is_looked_at():
    assert len(DOCUMENTS) >= 8


@pytest.mark.parametrize("address", HOSTILE_ADDRESSES)
def test_no_address_but_our_own_fonts_is_fetched(address):
    with pytest.raises(ValueError, match="fetch nothing"):
        pdf._fetcher().fetch(address)


@pytest.mark.parametrize("font", FONTS, ids=lambda font: font.name)
def test_our_own_fonts_are(font):
    assert pdf._fetcher().fetch(font.as_uri()).read() == font.read_bytes()


@pytest.mark.parametrize("template", DOCUMENTS)
def test_words_that_mean_harm_stay_words(template):
    tags = _Tags()
    tags.feed(_written(template))
    assert not tags.seen & {"script", "img", "link", "object", "a", "iframe"}, tags.seen
    assert not tags.attributes & {"src", "href", "data", "onload", "x"}, tags.attributes


@pytest.mark.parametrize("template", DOCUMENTS)
def test_words_that_mean_harm_fetch_nothing_when_laid_out(template, monkeypatch):
    asked = []
    fetcher = type(pdf._fetcher())
    keep = fetcher.fetch
    monkeypatch.setattr(
        fetcher, "fetch", lambda self, url, headers=None: asked.append(url) or keep(self, url)
    )
    name = template.replace(".html", ".css")
    done = pdf.render_pdf(_written(template), stylesheet=name)
    assert done.startswith(b"%PDF")
    assert set(asked) <= {font.as_uri() for font in FONTS}
