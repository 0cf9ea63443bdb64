"""A code is read by the camera or by a keyboard scanner; the camera films a code of our own making."""

import io
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import segno
from PIL import Image
from playwright.sync_api import BrowserType, Page, expect

from seedbank.members.models import Member
from tests.browser.conftest import CHROMIUM, PHONE, QUIET, sign_in
from tests.factories.crosses import make_plant


def film_of(text: str, path: Path) -> Path:
    """A film of one frame, over and over: the code on a wooden table. An MJPEG is JPEGs in a row."""
    drawn = io.BytesIO()
    segno.make_qr(text, error="m").save(drawn, kind="png", scale=8, border=4)
    frame = Image.new("RGB", (640, 480), "#b08d57")
    code = Image.open(drawn).convert("RGB")
    frame.paste(code, ((640 - code.width) // 2, (480 - code.height) // 2))
    jpeg = io.BytesIO()
    frame.save(jpeg, "JPEG", quality=80)
    path.write_bytes(jpeg.getvalue() * 3)
    return path


@pytest.fixture
def filming(browser_type: BrowserType, site: str, tmp_path) -> Iterator[Callable[..., Page]]:
    """Return a function that opens a phone whose camera sees a code; without one it is refused."""
    browsers = []
    complaints: list[str] = []

    def open_phone(member: Member, code: str | None) -> Page:
        camera = ["--use-fake-device-for-media-stream"]
        if code is not None:
            film = film_of(code, tmp_path / "film.mjpeg")
            camera += [
                "--use-fake-ui-for-media-stream",
                f"--use-file-for-fake-video-capture={film}",
            ]
        browser = browser_type.launch(executable_path=CHROMIUM, args=[*QUIET, *camera])
        browsers.append(browser)
        context = browser.new_context(viewport=PHONE, base_url=site, has_touch=True)
        context.set_default_timeout(10_000)
        sign_in(context, member, site)
        page = context.new_page()
        page.on("console", lambda line: complaints.append(line.text) if line.type == "error" else 0)
        return page

    yield open_phone
    for browser in browsers:
        browser.close()
    assert complaints == []


def test_a_plants_code_fills_the_field_it_was_scanned_for(filming, tansy, site):
    plant = make_plant(tansy, "Primula 'Oddwater Lemon'")
    page = filming(tansy, f"{site}/s/{plant.number}")
    page.goto("/flowers/add/")
    page.get_by_role("button", name="Scan a code: Pollen parent").click()
    expect(page.get_by_label("Pollen parent", exact=True)).to_have_value(plant.number)
    expect(page.get_by_role("dialog")).to_have_count(0)


def test_a_code_scanned_in_the_head_leads_to_its_page(filming, tansy, site):
    plant = make_plant(tansy, "Primula 'Oddwater Lemon'")
    page = filming(tansy, f"{site}/s/{plant.number}")
    page.goto("/")
    page.get_by_role("button", name="Scan a code: Find a number or name").click()
    expect(page).to_have_url(f"{site}/plants/{plant.number}/")


def test_the_reader_is_loaded_when_a_scan_is_asked_for_and_not_before(filming, tansy):
    plant = make_plant(tansy, "Primula 'Oddwater Lemon'")
    page = filming(tansy, plant.number)
    loaded: list[str] = []
    page.on("request", lambda request: loaded.append(request.url))
    page.goto("/flowers/add/")
    page.get_by_role("button", name="Scan a code: Seed parent").wait_for()
    assert [address for address in loaded if "zxing" in address] == []
    page.get_by_role("button", name="Scan a code: Seed parent").click()
    expect(page.get_by_label("Seed parent", exact=True)).to_have_value(plant.number)
    assert [address for address in loaded if address.endswith("zxing_reader.wasm")]


def test_a_refused_camera_is_said_and_the_field_is_there_to_type_in(filming, tansy):
    page = filming(tansy, None)
    page.goto("/flowers/add/")
    page.get_by_role("button", name="Scan a code: Seed parent").click()
    expect(page.get_by_role("alert")).to_contain_text("The camera was refused.")
    page.get_by_role("button", name="Close").click()
    expect(page.get_by_role("button", name="Scan a code: Seed parent")).to_be_focused()


def test_a_keyboard_scanner_types_an_address_and_enter_and_the_form_goes_on(open_as, tansy, site):
    plant = make_plant(tansy, "Primula 'Oddwater Lemon'")
    page = open_as(tansy)
    page.goto("/flowers/add/")
    page.get_by_label("Seed parent", exact=True).focus()
    page.keyboard.type(f"{site}/s/{plant.number}\n")
    expect(page.get_by_label("Seed parent", exact=True)).to_have_value(plant.number)
    expect(page.get_by_label("Pollen parent", exact=True)).to_be_focused()
    page.locator("#find").focus()
    page.keyboard.type(f"{site}/s/{plant.number}\n")
    expect(page).to_have_url(f"{site}/plants/{plant.number}/")
