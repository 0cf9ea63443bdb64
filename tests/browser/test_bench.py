"""The bench with one thumb: taps are counted, and a new pair takes less than ten seconds of acts."""

import datetime
from dataclasses import dataclass

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator, Page, expect

from crosses.actions.capsule import record_check
from crosses.actions.pollination import log_pollination
from crosses.base.clock import now, today
from crosses.models import Check, Cross, Pollination
from tests.browser.test_axe import BY_DAY
from tests.factories.crosses import TaxonFactory, make_cross, make_plant

# Keystroke-level model: seconds to point and press, to press a key of an average typist, and to
# make up one's mind (Card, Moran, Newell 1980, Communications of the ACM 23(7), 396-410).
SECONDS_A_TAP = 1.1 + 0.1
SECONDS_A_KEY = 0.28
SECONDS_TO_DECIDE = 1.35


@dataclass
class Thumb:
    """Does what one thumb does, and counts it."""

    page: Page
    taps: int = 0
    keys: int = 0
    decisions: int = 0

    def tap(self, place: Locator, *, decides: bool = False) -> None:
        place.tap()
        self.taps += 1
        self.decisions += decides

    def write(self, place: Locator, text: str) -> None:
        self.tap(place, decides=True)
        self.page.keyboard.type(text)
        self.keys += len(text)

    @property
    def seconds(self) -> float:
        return (
            self.taps * SECONDS_A_TAP
            + self.keys * SECONDS_A_KEY
            + self.decisions * SECONDS_TO_DECIDE
        )


@pytest.fixture
def pair(tansy):
    return [
        make_plant(tansy, f"Primula '{name}'") for name in ("Quillfeather Smoke", "Oddwater Lemon")
    ]


@pytest.fixture
def thumb(open_as, tansy, pair) -> Thumb:
    page = open_as(tansy)
    page.goto("/bench/")
    return Thumb(page)


def pollinated(cross: Cross, days_ago: int, flowers: int = 1) -> Pollination:
    day = today() - datetime.timedelta(days=days_ago)
    return log_pollination(
        cross=cross, by=cross.grower, at=now(), pollinated_on=day, flowers=flowers
    )


def log_link(page: Page) -> Locator:
    return page.get_by_role("link", name="Log a pollination")


def log_button(page: Page) -> Locator:
    return page.get_by_role("button", name="Log it")


def used_last(page: Page, role: str, name: str) -> Locator:
    place = page.locator(f"[data-fills=id_{role}]")
    return place.filter(has_text=name)


def test_the_pair_used_last_takes_three_taps(open_as, tansy, pair):
    cross = make_cross(tansy, seed_parent=pair[0], pollen_parent=pair[1], season=today().year)
    pollinated(cross, days_ago=9)
    page = open_as(tansy)
    page.goto("/bench/")
    thumb = Thumb(page)
    thumb.tap(log_link(page))
    thumb.tap(page.get_by_role("radio").first)
    # The places of a new pair are out of the way.
    expect(page.get_by_label("Seed parent", exact=True)).to_be_hidden()
    thumb.tap(log_button(page))
    expect(page.locator(".tag-text")).to_contain_text(cross.own_number)
    assert thumb.taps == 3
    assert cross.pollinations.count() == 2


def test_a_new_pair_of_plants_used_lately_takes_less_than_ten_seconds(thumb, pair):
    page = thumb.page
    thumb.tap(log_link(page))
    thumb.tap(used_last(page, "seed_parent", "Smoke"), decides=True)
    thumb.tap(used_last(page, "pollen_parent", "Lemon"), decides=True)
    thumb.tap(log_button(page))
    expect(page.locator(".tag-text")).to_be_visible()
    logged = Pollination.objects.get().cross
    assert [logged.seed_parent, logged.pollen_parent] == pair
    assert thumb.seconds < 10


def test_a_new_pair_typed_by_parts_of_names_takes_less_than_ten_seconds(thumb, pair):
    page = thumb.page
    thumb.tap(log_link(page))
    thumb.write(page.get_by_label("Seed parent", exact=True), "smo")
    thumb.write(page.get_by_label("Pollen parent", exact=True), "lem")
    thumb.tap(log_button(page))
    expect(page.locator(".tag-text")).to_be_visible()
    logged = Pollination.objects.get().cross
    assert [logged.seed_parent, logged.pollen_parent] == pair
    assert thumb.seconds < 10


def test_where_several_plants_fit_one_more_tap_logs_it_with_all_that_was_typed(thumb, tansy, pair):
    page = thumb.page
    other = make_plant(tansy, "Primula 'Oddwater Lime'")
    page.goto("/flowers/add/")
    page.get_by_label("Seed parent", exact=True).fill("smoke")
    page.get_by_label("Pollen parent", exact=True).fill("oddwater")
    thumb.tap(page.get_by_role("button", name="One more: Flowers"))
    thumb.tap(page.get_by_role("button", name="One more: Flowers"))
    page.get_by_label("both ways: the reciprocal too").check()
    thumb.tap(log_button(page))
    thumb.tap(page.locator(".which").get_by_role("button", name="Lime"))
    expect(page.locator(".tag-text")).to_have_count(2)
    there, back = Pollination.objects.order_by("pk")
    assert (there.cross.pollen_parent, there.flowers) == (other, 3)
    # As many on the other plant, unless it is said otherwise.
    assert (back.cross.seed_parent, back.flowers) == (other, 3)


def test_enter_in_a_place_where_several_fit_chooses_none_of_them(thumb, tansy, pair):
    make_plant(tansy, "Primula 'Oddwater Lime'")
    page = thumb.page
    page.goto("/flowers/add/")
    page.get_by_label("Seed parent", exact=True).fill("smoke")
    page.get_by_label("Pollen parent", exact=True).fill("oddwater")
    log_button(page).click()
    expect(page.locator(".which")).to_be_visible()
    page.get_by_label("Flowers", exact=True).press("Enter")
    expect(page.locator(".which")).to_be_visible()
    assert not Pollination.objects.exists()


def test_the_question_which_plant_is_meant_has_no_fault(thumb, tansy, pair):
    make_plant(tansy, "Primula 'Oddwater Lime'")
    page = thumb.page
    page.goto("/flowers/add/")
    page.get_by_label("Seed parent", exact=True).fill("smoke")
    page.get_by_label("Pollen parent", exact=True).fill("oddwater")
    log_button(page).click()
    expect(page.locator(".which")).to_be_visible()
    assert Axe().run(page, options=BY_DAY).response["violations"] == []


@pytest.fixture
def capsule(tansy, pair):
    """A capsule that may split any day, last seen three days ago."""
    taxon = TaxonFactory(species="", ripe_low_days=20, ripe_high_days=40)
    plant = make_plant(tansy, "Primula seedling B-7", taxon=taxon)
    cross = make_cross(tansy, seed_parent=plant, pollen_parent=pair[1], season=today().year)
    flower = pollinated(cross, days_ago=35, flowers=1)
    seen_on = today() - datetime.timedelta(days=3)
    record_check(
        pollination=flower,
        by=tansy,
        at=now() - datetime.timedelta(days=3),
        seen_on=seen_on,
        kind="swelling",
    )
    return flower


def test_what_is_seen_is_one_tap_and_a_slip_is_taken_back_by_one(thumb, capsule):
    page = thumb.page
    page.reload()
    card = page.locator(".flower").filter(has_text=capsule.number)
    thumb.tap(card.get_by_role("button", name="Aborted"))
    expect(card).to_have_count(0)
    assert thumb.taps == 1
    assert Pollination.objects.get(pk=capsule.pk).state == "lost"
    thumb.tap(page.get_by_role("button", name="Take back"))
    expect(card).to_be_visible()
    assert thumb.taps == 2
    assert Pollination.objects.get(pk=capsule.pk).state == "taken"


def test_a_photo_goes_with_the_tap_that_was_just_made(thumb, capsule, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    page = thumb.page
    page.reload()
    page.locator(".flower").get_by_role("button", name="Swelling").tap()
    page.get_by_role("link", name="Photo").tap()
    page.get_by_label("Photo").set_input_files("seedbank/web/static/web/icon.svg")
    page.get_by_role("button", name="Keep it").tap()
    expect(page.locator("#refusals")).to_contain_text("no picture")
    page.get_by_label("Photo").set_input_files("fixtures/pictures/tag.png")
    page.get_by_role("button", name="Keep it").tap()
    expect(page).to_have_url("/bench/")
    page.goto(f"/flowers/{capsule.number}/")
    photo = page.get_by_role("img", name="Ovary swelling")
    photo.scroll_into_view_if_needed()
    expect(photo).to_have_js_property("complete", value=True)
    assert photo.evaluate("picture => picture.naturalWidth") > 0
    assert Check.objects.get(seen_on=today()).photos.count() == 1


def test_every_target_of_the_bench_and_of_logging_is_as_large_as_a_fingertip(thumb, capsule, pair):
    page = thumb.page
    pollinated(capsule.cross, days_ago=0)
    for address in ("/bench/", "/flowers/add/"):
        page.goto(address)
        small = page.locator("main").evaluate(
            """main => [...main.querySelectorAll("button, a.button, input:not([type=hidden]), summary, .chips a")]
            .filter(place => place.checkVisibility() && !place.matches("[aria-hidden], [type=radio], [type=checkbox]"))
            .filter(place => { const box = place.getBoundingClientRect(); return box.height < 43.5 || box.width < 43.5 })
            .map(place => place.outerHTML.slice(0, 120))"""
        )
        assert small == []
