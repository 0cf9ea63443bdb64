"""A real Chromium, as Debian packages it; where there is none, these tests say that they were skipped."""

import contextlib
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client, override_settings
from playwright.sync_api import Browser, BrowserContext, BrowserType, Page
from playwright.sync_api import Error as PlaywrightError

from crosses.models import Plant
from seedbank.members.models import Member
from tests.factories.crosses import make_plant

# Playwright's blocking interface runs a loop in this thread, which Django takes for asynchronous code.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if "/browser/" in str(item.path):
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.django_db(transaction=True))
            if CHROMIUM is None:
                item.add_marker(pytest.mark.skip(reason="Chromium is not installed here"))


QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    return {**browser_type_launch_args, "executable_path": CHROMIUM, "args": QUIET}


@pytest.fixture(scope="session", autouse=True)
def files_as_they_lie():
    """Let the server, which starts before any test, look for style sheets where they lie."""
    with override_settings(WHITENOISE_AUTOREFRESH=True):
        yield


@pytest.fixture
def site(live_server, settings) -> str:
    settings.SITE_ADDRESS = live_server.url
    return live_server.url


def sign_in(context: BrowserContext, member: Member, site: str) -> None:
    """Give a browser the cookie of a member who has signed in."""
    client = Client()
    client.force_login(member)
    name = settings.SESSION_COOKIE_NAME
    context.add_cookies([{"name": name, "value": client.cookies[name].value, "url": site}])


@pytest.fixture
def open_as(browser: Browser, site: str) -> Callable[..., Page]:
    """Return a function that opens a window signed in as a member, of phone size unless told otherwise.

    Whatever a page says on the console as an error fails the test that opened it.
    """
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def open_window(member: Member, size: dict[str, int] = PHONE) -> Page:
        context = browser.new_context(
            viewport=size, base_url=site, has_touch=size is PHONE, locale="en-GB"
        )
        context.set_default_timeout(10_000)
        contexts.append(context)
        page = context.new_page()
        page.on(
            "console", lambda line: complaints.append(line.text) if line.type == "error" else None
        )
        page.on("pageerror", lambda error: complaints.append(str(error)))
        sign_in(context, member, site)
        page.goto("/")
        return page

    yield open_window
    for context in contexts:
        context.close()
    # A refused form answers 422 or 400, and Chromium writes that on the console; it is no fault.
    assert [line for line in complaints if "Failed to load resource" not in line] == []


@pytest.fixture
def phone(browser_type: BrowserType, site: str, tmp_path: Path):
    """Return a function that opens the one phone of a test; what is on its disk stays."""
    contexts: list[BrowserContext] = []

    def open_phone() -> BrowserContext:
        context = browser_type.launch_persistent_context(
            tmp_path / "phone",
            executable_path=CHROMIUM,
            args=QUIET,
            base_url=site,
            viewport=PHONE,
            has_touch=True,
            locale="en-GB",
        )
        context.set_default_timeout(10_000)
        contexts.append(context)
        return context

    yield open_phone
    for context in contexts:
        with contextlib.suppress(PlaywrightError):
            context.close()


@pytest.fixture
def pair(tansy) -> tuple[Plant, Plant]:
    return make_plant(tansy, "Primula 'Quillfeather Smoke'"), make_plant(
        tansy, "Primula 'Oddwater Lemon'"
    )
