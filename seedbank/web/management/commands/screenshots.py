"""Take the README's pictures from the loaded demo society: `manage.py screenshots`."""

import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.urls import reverse

from crosses.base.clock import now, today
from crosses.queries.flowers import flowers_page
from seedbank.bank.access import packets_visible_to
from seedbank.exchange.access import finished_rounds, parcels_visible_to, rounds_visible_to
from seedbank.members.models import Member
from seedbank.transfer.demo import PASSWORD, is_demo_here

if TYPE_CHECKING:
    from playwright.sync_api import ViewportSize

FOLDER = settings.BASE_DIR / "fixtures" / "pictures"
PHONE: "ViewportSize" = {"width": 390, "height": 844}
DESK: "ViewportSize" = {"width": 1180, "height": 760}
SECONDS_TO_START = 30


@dataclass(frozen=True)
class Picture:
    """A page as one person sees it: its top, the whole of it, or the part that is named."""

    name: str
    address: str
    member: Member
    size: "ViewportSize"
    is_whole: bool = False
    part: str = "h1"


class Command(BaseCommand):
    help = "Serve the demo, open it in Chromium, and write the README's pictures."

    def handle(self, **options: Any) -> None:
        if not is_demo_here():
            raise CommandError("Load the demo first: manage.py demo --no-serve.")
        chromium = shutil.which("chromium") or shutil.which("chromium-browser")
        if chromium is None:
            raise CommandError("Chromium is not installed here.")
        with _server() as site:
            for path in _take(_pictures(), site, chromium):
                self.stdout.write(f"{path.name} {path.stat().st_size // 1000} kB")


def _pictures() -> list[Picture]:
    """Choose what to show: a thread that goes all the way, and one parcel that goes abroad."""
    people = Member.objects.in_bulk(["0001", "0003", "0004"], field_name="number")
    grower, packer, abroad = people["0001"], people["0003"], people["0004"]
    flower = flowers_page(grower, today(), page="1").object_list[0].pollination
    packet = (
        packets_visible_to(grower)
        .filter(sowings__grower=grower, promises__packed_at__isnull=False)
        .order_by("number")[0]
    )
    sowing = packet.sowings.order_by("number")[0]
    is_open = next(found for found in rounds_visible_to(grower) if found.takes_wishes_at(now()))
    finished = finished_rounds()[0]
    parcel = parcels_visible_to(packer).filter(round=finished, member=abroad)[0]
    return [
        Picture("bench", reverse("bench"), grower, PHONE),
        Picture("tag", reverse("pollination-tag", args=[flower.number]), grower, PHONE),
        Picture(
            "packet", reverse("packet-detail", args=[packet.number]), grower, PHONE, is_whole=True
        ),
        Picture(
            "sowing", reverse("sowing-detail", args=[sowing.number]), grower, DESK, part="figure"
        ),
        Picture("list", reverse("list-page", args=[is_open.slug]), grower, DESK),
        Picture("result", reverse("my-result", args=[finished.slug]), grower, DESK),
        Picture("parcel", reverse("parcel-detail", args=[parcel.number]), packer, DESK),
    ]


@contextmanager
def _server() -> Iterator[str]:
    """Serve the database that is loaded on a free port, for as long as the pictures take."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "runserver", "--noreload"]
    server = subprocess.Popen(  # noqa: S603  our own command and a port the system gave us
        [*command, f"127.0.0.1:{port}"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        _wait_for(port)
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait()


def _wait_for(port: int) -> None:
    give_up = time.monotonic() + SECONDS_TO_START
    while time.monotonic() < give_up:
        with socket.socket() as knock:
            if knock.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.2)
    raise CommandError("The server did not start.")


def _take(pictures: list[Picture], site: str, chromium: str) -> Iterator[Path]:
    # Playwright belongs to the tests; a society that runs the service does not have it.
    from playwright.sync_api import sync_playwright

    FOLDER.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium,
            args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
        )
        for picture in pictures:
            page = browser.new_page(viewport=picture.size, base_url=site, locale="en-GB")
            page.goto(reverse("sign-in"))
            page.get_by_label("E-mail").fill(picture.member.email)
            page.get_by_label("Password").fill(PASSWORD)
            page.get_by_role("button", name="Sign in").click()
            page.goto(picture.address)
            page.locator(picture.part).last.scroll_into_view_if_needed()
            path = FOLDER / f"{picture.name}.png"
            page.screenshot(path=path, full_page=picture.is_whole)
            page.close()
            yield path
        browser.close()
