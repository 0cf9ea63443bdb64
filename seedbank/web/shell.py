"""The files that the site needs on a device to work without a signal, and a mark of their content."""

import hashlib
import re
from dataclasses import dataclass
from functools import cache

from django.conf import settings
from django.contrib.staticfiles import finders
from django.templatetags.static import static

OURS = "web/"
# Loaded when a scan is asked for or the site is installed, and kept from then on.
LOADED_WHEN_ASKED = ("web/js/scan/worker.js", "web/vendor/zxing-wasm/")
KINDS = (".css", ".js", ".svg", "-Regular.woff2", "-Bold.woff2")


@dataclass(frozen=True)
class Shell:
    """Addresses of what is fetched at once, and a version that changes with any file's content."""

    version: str
    addresses: tuple[str, ...]


# A key and a day stand in the page's forms and are another each time it is made.
CHANGES_BY_ITSELF = re.compile(r"[0-9a-f]{8}-[0-9a-f-]{27}|\d{4}-\d\d-\d\d")


def shell(page: str) -> Shell:
    """Return the shell of which `page` is the one page; browsers ask for it at every step."""
    page = CHANGES_BY_ITSELF.sub("", page)
    return _made(page) if settings.DEBUG else _made_once(page)


def _made(page: str) -> Shell:
    digest = hashlib.sha256(page.encode())
    addresses = []
    for path, content in sorted(_files()):
        digest.update(path.encode() + content)
        if path.endswith(KINDS) and not path.startswith(LOADED_WHEN_ASKED):
            addresses.append(static(path))
    return Shell(digest.hexdigest()[:16], tuple(addresses))


_made_once = cache(_made)


def _files() -> list[tuple[str, bytes]]:
    found = []
    for finder in finders.get_finders():
        for path, storage in finder.list([]):
            if path.startswith(OURS) and not path.endswith((".txt", ".ttf")):
                with storage.open(path) as file:
                    found.append((path, file.read()))
    return found
