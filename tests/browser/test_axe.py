"""What axe-core calls a fault by WCAG 2.2 A and AA is none on any page, for anybody who sees it.

On a phone and at a desk, by day and in the dark. On the phone every button, field and menu can be hit
with a thumb.
"""

import gzip

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page as Window
from playwright.sync_api import expect

from tests.browser.conftest import DESK, PHONE
from tests.browser.pages import HETTIE, IGNATIUS, NOBODY, PAGES, SOLVEIG, TANSY
from tests.browser.society import Where, society

WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
BY_DAY = {"resultTypes": ["violations"], "runOnly": {"type": "tag", "values": WCAG}}
# At a desk the layout differs and the colours do not; in the dark it is the other way round.
AT_A_DESK = {**BY_DAY, "rules": {"color-contrast": {"enabled": False}}}
IN_THE_DARK = {"resultTypes": ["violations"], "runOnly": ["color-contrast"]}
THUMB_PIXELS = 44
SCRIPT_BYTES = 100_000

# Links in a sentence or a table's cell are as high as their line (WCAG 2.5.8 excepts them); what is
# pressed by itself is not. A check box is pressed on its label.
TOO_SMALL = """pixels => {
  const pressed = `button, .button, select, textarea, summary, .site-nav a, .to-do a, .actions a,
    input:not([type=hidden]):not([type=checkbox]):not([type=radio]),
    label:has([type=checkbox]), label:has([type=radio])`;
  return [...document.querySelectorAll(pressed)]
    .filter(one => one.checkVisibility({ visibilityProperty: true }))
    .filter(one => one.getBoundingClientRect().height < pixels - 0.5)
    .map(one => one.outerHTML.slice(0, 120));
}"""


def faults_of(page: Window, *addresses: str, also_at_desk: bool = False) -> list[str]:
    """Return each fault as one line: the page, the rule, and the first element that breaks it."""
    found = []
    for address in addresses:
        page.emulate_media(color_scheme="light")
        answer = page.goto(address)
        assert answer is not None
        assert answer.status == 200, f"{address}: answers {answer.status}"
        found += _in_this_light(page, address, BY_DAY) + _too_small(page, address)
        if also_at_desk:
            page.set_viewport_size(DESK)
            found += _in_this_light(page, f"{address} (desk)", AT_A_DESK)
            page.set_viewport_size(PHONE)
        page.emulate_media(color_scheme="dark")
        found += _in_this_light(page, f"{address} (dark)", IN_THE_DARK)
    return found


def _in_this_light(page: Window, where: str, rules: dict) -> list[str]:
    violations = Axe().run(page, options=rules).response["violations"]
    found = [f"{where}: {v['id']}: {v['nodes'][0]['html'][:160]}" for v in violations]
    if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
        found.append(f"{where}: the page is wider than the window")
    return found


def _too_small(page: Window, where: str) -> list[str]:
    if page.viewport_size != PHONE:
        return []
    small = page.evaluate(TOO_SMALL, THUMB_PIXELS)
    return [f"{where}: smaller than a thumb: {one}" for one in small[:3]]


def addresses_for(person: str, where: Where) -> list[str]:
    return [
        reverse(page.url_name, kwargs=where[page.where] if page.where else None) + page.query
        for page in PAGES
        if person in page.seen_by
    ]


@pytest.fixture
def where(tansy, ignatius, hettie) -> Where:
    return society(tansy, ignatius, hettie)


@pytest.mark.parametrize("person", [TANSY, IGNATIUS, HETTIE, SOLVEIG])
def test_no_page_has_a_fault(open_as, where, request, person):
    window = open_as(request.getfixturevalue(person), PHONE)
    assert faults_of(window, *addresses_for(person, where), also_at_desk=True) == []


def test_no_page_for_those_not_signed_in_has_a_fault(browser, site, where):
    context = browser.new_context(viewport=PHONE, base_url=site)
    window = context.new_page()
    assert faults_of(window, *addresses_for(NOBODY, where), also_at_desk=True) == []
    context.close()


def test_the_bench_loads_less_than_100_kb_of_compressed_script(open_as, where, tansy):
    page = open_as(tansy, PHONE)
    scripts = []
    page.on(
        "response",
        lambda answer: scripts.append(answer) if answer.request.resource_type == "script" else None,
    )
    page.goto("/bench/", wait_until="networkidle")
    sizes = {answer.url: len(gzip.compress(answer.body())) for answer in scripts}
    assert any("/vendor/idb/" in address for address in sizes)
    assert not any("zxing" in address for address in sizes)
    assert sum(sizes.values()) < SCRIPT_BYTES


def test_paper_shows_the_record_without_the_sites_menus_and_forms(open_as, where, tansy):
    page = open_as(tansy, DESK)
    page.goto(reverse("cross-detail", kwargs=where["cross"]))
    page.emulate_media(media="print", color_scheme="dark")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    for part in (".site-head", ".site-foot", "main form", ".actions"):
        for one in page.locator(part).all():
            expect(one).to_be_hidden()
    # Ink on white paper, whatever the screen is set to.
    paper = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert paper == "rgb(255, 255, 255)"
