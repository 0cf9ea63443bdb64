"""What axe-core calls a fault by WCAG 2.2 A and AA is none on our pages, by day and in the dark."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from seedbank.exchange.models import Parcel
from tests.browser.conftest import DESK, PHONE
from tests.browser.scene import announced_round, grown_and_given, round_of, store_of_lots
from tests.factories.members import AddressFactory

WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
BY_DAY = {"resultTypes": ["violations"], "runOnly": {"type": "tag", "values": WCAG}}
# In the dark only the colours differ.
IN_THE_DARK = {"resultTypes": ["violations"], "runOnly": ["color-contrast"]}


def faults_of(page: Page, *addresses: str) -> list[str]:
    """Return each fault as one line: the page, the rule, and the first element that breaks it."""
    found = []
    for address in addresses:
        page.emulate_media(color_scheme="light")
        answer = page.goto(address)
        assert answer is not None
        assert answer.status == 200, f"{address}: {answer.status}"
        found += _lines(address, Axe().run(page, options=BY_DAY).response["violations"])
        page.emulate_media(color_scheme="dark")
        found += _lines(
            f"{address} (dark)", Axe().run(page, options=IN_THE_DARK).response["violations"]
        )
        if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
            found.append(f"{address}: the page is wider than the window")
    return found


def _lines(address: str, violations: list[dict]) -> list[str]:
    return [f"{address}: {v['id']}: {v['nodes'][0]['html'][:160]}" for v in violations]


def test_the_sign_in_page_has_no_fault(browser, site):
    context = browser.new_context(viewport=PHONE, base_url=site)
    assert faults_of(context.new_page(), "/sign-in/", "/password/new/") == []
    context.close()


def test_a_growers_pages_have_no_fault(open_as, tansy):
    year = grown_and_given(tansy)
    pages = (
        "/",
        "/bench/",
        "/bench/reminders/",
        "/plants/",
        "/plants/add/",
        f"/plants/{year.plant}/",
        f"/plants/{year.plant}/partners/",
        "/crosses/",
        f"/crosses/{year.cross}/",
        f"/crosses/{year.cross}/harvest/",
        "/flowers/",
        "/flowers/add/",
        "/flowers/forecast/",
        f"/flowers/{year.flower}/",
        f"/flowers/{year.flower}/tag/",
        f"/flowers/{year.flower}/check/",
        f"/harvests/{year.harvest}/",
        "/find/?q=Lemon",
        "/you/",
    )
    assert faults_of(open_as(tansy, PHONE), *pages) == []


def test_the_pages_of_seed_and_pots_have_no_fault(open_as, tansy):
    year = grown_and_given(tansy)
    pages = (
        "/lots/",
        f"/lots/{year.lot}/",
        f"/lots/{year.lot}/packets/",
        f"/lots/{year.lot}/labels/",
        f"/packets/{year.packet}/",
        "/sowings/",
        "/sowings/add/",
        "/sowings/counts/",
        f"/sowings/{year.sowing}/",
        f"/donations/{year.donation}/",
        "/donations/offer/",
    )
    assert faults_of(open_as(tansy, PHONE), *pages) == []


def test_the_pages_of_an_open_round_have_no_fault(open_as, tansy, ignatius):
    year = grown_and_given(tansy)
    round_of(ignatius, store_of_lots(ignatius, "Primula veris"), opened=2, closed=-7)
    page = open_as(tansy, PHONE)
    page.goto("/rounds/seed-exchange/list/")
    page.get_by_role("button", name="Wish for line 1").click()
    page.wait_for_load_state()
    asked = faults_of(
        page,
        "/rounds/",
        "/rounds/seed-exchange/",
        "/rounds/seed-exchange/list/",
        "/rounds/seed-exchange/wishes/",
    )
    kept = faults_of(
        open_as(ignatius, DESK),
        "/",
        "/donations/",
        f"/donations/{year.donation}/receive/",
        "/rounds/seed-exchange/list/edit/",
        "/rounds/seed-exchange/sharing/?trial=1",
        "/store/",
    )
    assert asked + kept == []


def test_the_pages_of_a_result_and_of_packing_have_no_fault(
    open_as, tansy, cosmo, ignatius, hettie
):
    AddressFactory(member=tansy)
    lots = store_of_lots(ignatius, "Primula allionii", "Primula veris", packets=1)
    announced_round(ignatius, lots, {tansy: [1, 2], cosmo: [1]})
    parcel = Parcel.objects.get(member=tansy)
    read = faults_of(
        open_as(tansy, PHONE), "/rounds/seed-exchange/result/", "/rounds/seed-exchange/result/mine/"
    )
    page = open_as(hettie, PHONE)
    page.goto(f"/parcels/{parcel.number}/")
    page.get_by_role("button", name="Take it in hand").click()
    page.get_by_label("Packet number").wait_for()
    packed = faults_of(
        page,
        "/",
        "/packing/",
        f"/packing/pick/?parcel={parcel.number}",
        f"/parcels/{parcel.number}/",
    )
    assert read + packed == []
