"""What a person does with a phone that has lost its signal."""

import contextlib
import os
import signal
from pathlib import Path

from playwright.sync_api import BrowserContext, Page, expect
from playwright.sync_api import Error as PlaywrightError

from seedbank.members.models import Member
from tests.browser.conftest import sign_in


def ready(context: BrowserContext, member: Member, site: str) -> Page:
    """Sign in with a signal, and wait until the site and one's own records are on the device."""
    sign_in(context, member, site)
    page = context.pages[0] if context.pages else context.new_page()
    with page.expect_response("**/offline/copy/"):
        page.goto("/bench/")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.goto("/offline/")
    expect(page.get_by_text("as of")).to_be_visible()
    return page


def kill(context: BrowserContext, disk: Path) -> None:
    """Take the battery out: every process of this phone's browser ends at once, without a goodbye."""
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            if str(disk).encode() in (folder / "cmdline").read_bytes():
                os.kill(int(folder.name), signal.SIGKILL)
        except OSError:
            continue
    with contextlib.suppress(PlaywrightError):
        context.close()
    for lock in disk.glob("Singleton*"):
        lock.unlink()


def open_section(page: Page, name: str) -> None:
    page.get_by_role("navigation", name="On this device").get_by_role("link", name=name).click()


def log_pollination(page: Page, seed_parent: str, pollen_parent: str, flowers: int) -> None:
    open_section(page, "Log a pollination")
    section = page.locator("#pollination")
    section.get_by_label("Seed parent").fill(seed_parent)
    section.get_by_label("Pollen parent").fill(pollen_parent)
    section.get_by_label("Flowers", exact=True).fill(str(flowers))
    section.get_by_role("button", name="Keep it here").click()
    expect(page.get_by_role("heading", name="Write this on the tag")).to_be_visible()


def waiting(page: Page) -> Page:
    open_section(page, "Waiting")
    return page.locator("#waiting")
