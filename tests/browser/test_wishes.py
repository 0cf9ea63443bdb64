"""Ranking with a thumb, with the keyboard, with the pointer, without script and without a line."""

import pytest
from playwright.sync_api import expect

from seedbank.exchange.queries.wishes import numbers_in, wish_list_of
from tests.browser.conftest import DESK, PHONE
from tests.browser.scene import round_of, store_of_lots
from tests.browser.test_axe import faults_of


@pytest.fixture
def found(ignatius):
    lots = store_of_lots(ignatius, *(f"Primula {letter}" for letter in "abcdef"))
    return round_of(ignatius, lots, opened=1, closed=-9)


def saved(found, member):
    main, reserve = numbers_in(wish_list_of(found, member))
    return [*main, *reserve]


def lines_shown(page):
    rows = page.locator("#wish-list li[data-line]")
    return [int(row.get_attribute("data-line")) for row in rows.all()]


def test_a_thumb_adds_from_the_list_and_the_reader_stays_where_she_is(open_as, found, tansy):
    page = open_as(tansy, PHONE)
    page.goto(f"/rounds/{found.slug}/list/")
    page.evaluate("window.stayed = true")
    for number in (4, 2):
        page.get_by_role("button", name=f"Wish for line {number}", exact=True).tap()
        expect(page.locator(f"#line-{number}")).to_contain_text("your wish")
    expect(page.get_by_role("link", name="Your wishes (2)")).to_be_visible()
    assert page.evaluate("window.stayed")
    assert saved(found, tansy) == [4, 2]


def test_the_keyboard_alone_puts_in_and_ranks(open_as, found, tansy):
    page = open_as(tansy, DESK)
    page.goto(f"/rounds/{found.slug}/wishes/")
    page.get_by_label("Line numbers").fill("3 1 5")
    page.keyboard.press("Enter")
    expect(page.locator("#wishes")).to_contain_text("3 of")
    # The list is there before the script; a button pressed in between loads the page the ordinary way.
    page.wait_for_load_state()
    page.get_by_role("button", name="Line 5 up").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").first).to_have_text("Line 5 is at place 1 of 3.")
    # At the top the button up is spent; the finger is on the one beside it.
    expect(page.get_by_role("button", name="Line 5 down")).to_be_focused()
    assert lines_shown(page) == saved(found, tansy) == [5, 3, 1]


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_wish_is_dragged_to_its_place(open_as, found, tansy, size):
    page = open_as(tansy, size)
    page.goto(f"/rounds/{found.slug}/wishes/")
    page.get_by_label("Line numbers").fill("1 2 3 4")
    page.get_by_role("button", name="Put in").click()
    handle = page.locator('li[data-line="4"] .drag')
    handle.scroll_into_view_if_needed()
    start = handle.bounding_box()
    top = page.locator('li[data-line="2"]').bounding_box()
    page.mouse.move(start["x"] + 10, start["y"] + 10)
    page.mouse.down()
    page.mouse.move(start["x"] + 10, top["y"] + 5, steps=6)
    page.mouse.up()
    expect(page.get_by_role("status").first).to_have_text("Saved.")
    assert lines_shown(page) == saved(found, tansy) == [1, 4, 2, 3]


def test_without_script_every_button_works(browser, site, open_as, found, tansy):
    cookies = open_as(tansy).context.cookies()
    context = browser.new_context(viewport=PHONE, base_url=site, java_script_enabled=False)
    context.add_cookies(cookies)
    page = context.new_page()
    page.goto(f"/rounds/{found.slug}/list/")
    page.get_by_role("button", name="Wish for line 3", exact=True).click()
    page.get_by_role("button", name="Wish for line 6", exact=True).click()
    page.get_by_role("link", name="Your wishes (2)").click()
    assert page.locator(".drag:visible").count() == 0
    page.get_by_role("button", name="Line 6 up").click()
    page.get_by_role("button", name="Take line 3 out").click()
    assert saved(found, tansy) == [6]
    context.close()


def test_what_could_not_be_saved_is_said_and_can_be_tried_again(open_as, found, tansy):
    page = open_as(tansy, PHONE)
    page.goto(f"/rounds/{found.slug}/wishes/")
    page.get_by_label("Line numbers").fill("1 2")
    page.get_by_role("button", name="Put in").click()
    page.context.set_offline(True)
    page.get_by_role("button", name="Line 2 up").click()
    expect(page.get_by_text("Not saved: the server does not answer.")).to_be_visible()
    assert lines_shown(page) == saved(found, tansy) == [1, 2]
    page.context.set_offline(False)
    page.get_by_role("button", name="Line 2 up").click()
    expect(page.locator("#wish-list li[data-line]").first).to_have_attribute("data-line", "2")
    assert saved(found, tansy) == [2, 1]


def test_the_pages_of_wishes_have_no_fault(open_as, found, tansy, ignatius):
    page = open_as(tansy, PHONE)
    page.goto(f"/rounds/{found.slug}/wishes/")
    page.get_by_label("Line numbers").fill("1 2")
    page.get_by_role("button", name="Put in").click()
    assert faults_of(page, f"/rounds/{found.slug}/wishes/", f"/rounds/{found.slug}/list/") == []
    desk = open_as(ignatius, DESK)
    of_tansy = f"/rounds/{found.slug}/wishes/of/{tansy.number}/"
    assert faults_of(desk, f"/rounds/{found.slug}/wishes/lists/", of_tansy) == []
