"""The network is cut, the page reloaded, the browser killed: what was logged goes up exactly once."""

import re

from playwright.sync_api import Page, Route, expect

from crosses.actions.pollination import withdraw_pollination
from crosses.base.clock import now
from crosses.models import Check, Plant, Pollination, TouchUp
from seedbank.sowings.models import Count
from tests.browser.conftest import sign_in
from tests.browser.device import kill, log_pollination, open_section, ready, waiting
from tests.browser.scene import Year, grown_and_given


def log_ten(page: Page, year: Year, smoke: Plant, lemon: Plant) -> None:
    """Seven pollinations, a look, a touch-up and a count, with a reload in between."""
    for flowers in range(1, 7):
        log_pollination(page, smoke.number, lemon.number, flowers)
    open_section(page, "Bench")
    page.reload()
    card = page.locator(f"#bench li:has-text('{year.flower}')")
    card.get_by_role("button", name="Colouring").click()
    expect(page.get_by_text("Noted here: Colouring.")).to_be_visible()
    card.locator("summary").click()
    card.get_by_role("link", name="Touch up").click()
    page.locator("#touch-up").get_by_role("button", name="Keep it here").click()
    expect(page.get_by_text("touch-up, fresh pollen")).to_be_visible()
    open_section(page, "Count")
    page.locator("#count").get_by_label(re.compile(year.sowing)).fill("2")
    page.locator("#count").get_by_role("button", name="Keep the counts here").click()
    log_pollination(page, lemon.number, smoke.number, 3)


def test_ten_entries_outlive_a_cut_a_reload_and_a_kill_and_go_up_once_each(
    phone, tansy, pair, site, tmp_path
):
    year = grown_and_given(tansy)
    flowers, looks, touch_ups, counts = (
        model.objects.count() for model in (Pollination, Check, TouchUp, Count)
    )
    context = phone()
    page = ready(context, tansy, site)
    context.set_offline(True)
    page.goto("/bench/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Your bench, on this device")
    log_ten(page, year, *pair)
    expect(waiting(page).get_by_text("10 waiting")).to_be_visible()
    kill(context, tmp_path / "phone")

    context = phone()
    context.set_offline(True)
    page = context.pages[0]
    page.goto("/offline/#waiting")
    expect(page.locator("#waiting").get_by_text("10 waiting")).to_be_visible()
    # The cookie of the session went with the battery: with a signal, but signed out, they wait.
    context.set_offline(False)
    expect(page.get_by_text("Sign in, and they go up.")).to_be_visible()
    assert Pollination.objects.count() == flowers

    # The first three answers are lost on their way back, after the server has written.
    lost: list[str] = []

    def lose_three(route: Route) -> None:
        if len(lost) < 3:
            lost.append(route.request.url)
            route.fetch()
            route.abort()
        else:
            route.continue_()

    context.route("**/offline/entry/", lose_three)
    sign_in(context, tansy, site)
    for _ in range(3):
        page.get_by_role("button", name="Send them now").click()
        page.wait_for_timeout(500)
    page.get_by_role("button", name="Send them now").click()
    expect(page.get_by_text("Everything has gone up.")).to_be_visible()
    assert len(lost) == 3
    assert Pollination.objects.count() == flowers + 7
    assert Check.objects.count() == looks + 1
    assert TouchUp.objects.count() == touch_ups + 1
    assert Count.objects.count() == counts + 1


def test_a_flower_withdrawn_meanwhile_is_shown_with_both_versions_and_kept(phone, tansy, site):
    flower = Pollination.objects.get(number=grown_and_given(tansy).flower)
    context = phone()
    page = ready(context, tansy, site)
    context.set_offline(True)
    page.goto("/bench/")
    card = page.locator(f"#bench li:has-text('{flower.number}')")
    card.get_by_role("button", name="Colouring").click()
    expect(page.get_by_text("Noted here: Colouring.")).to_be_visible()
    withdraw_pollination(pollination=flower, by=tansy, at=now(), reason="the tag was on another")
    context.set_offline(False)
    section = waiting(page)
    expect(section.get_by_role("status")).to_contain_text("1 asks you")
    expect(section.get_by_text("the tag was on another")).to_be_visible()
    expect(section.get_by_text("Colouring.", exact=False).first).to_be_visible()
    # Nothing is ever written on a withdrawn flower, so there is no button that would say it is.
    expect(section.get_by_role("button", name="Write it all the same")).not_to_be_visible()
    section.get_by_role("button", name="Give it up").click()
    section.get_by_role("button", name="Give it up for good? Press again").click()
    expect(section.get_by_text("Nothing waits.")).to_be_visible()
    assert Check.objects.filter(kind="colouring").count() == 0


def test_another_member_on_the_same_phone_neither_reads_nor_sends_what_waits(
    phone, tansy, cosmo, pair, site
):
    context = phone()
    page = ready(context, tansy, site)
    context.set_offline(True)
    page.goto("/bench/")
    log_pollination(page, pair[0].number, pair[1].number, 4)
    context.clear_cookies()
    context.set_offline(False)
    page = ready(context, cosmo, site)
    section = waiting(page)
    expect(section.get_by_text("Nothing waits.")).to_be_visible()
    expect(section.get_by_text("1 of Tansy Oddwater wait")).to_be_visible()
    assert "Quillfeather Smoke" not in page.content()
    assert not Pollination.objects.exists()
    context.clear_cookies()
    page = ready(context, tansy, site)
    expect(waiting(page).get_by_text("gone up", exact=True)).to_be_visible()
    assert Pollination.objects.get().logged_by == tansy


def test_signing_out_asks_about_what_has_not_gone_up_and_takes_the_copy_away(phone, tansy, site):
    year = grown_and_given(tansy)
    context = phone()
    page = ready(context, tansy, site)
    context.route("**/offline/entry/", lambda route: route.abort())
    page.goto(f"/flowers/{year.flower}/check/")
    page.get_by_role("button", name="Colouring").click()
    expect(page.get_by_role("heading", name="Logged on this device")).to_be_visible()
    page.goto("/you/")
    page.locator("summary").filter(has_text="You").click()
    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("button", name="Keep them and sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    context.set_offline(True)
    page.goto("/bench/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Nobody is signed in on this device")
    assert year.flower not in page.content()
    context.set_offline(False)
    context.unroute("**/offline/entry/")
    page = ready(context, tansy, site)
    expect(waiting(page).get_by_text("Everything has gone up.")).to_be_visible()
    assert Check.objects.filter(kind="colouring").count() == 1


def test_the_ordinary_form_is_kept_when_the_signal_goes_between_opening_and_sending(
    phone, tansy, pair, site
):
    context = phone()
    page = ready(context, tansy, site)
    page.goto("/flowers/add/")
    page.get_by_label("Seed parent").fill(pair[0].number)
    page.get_by_label("Pollen parent").fill(pair[1].number)
    context.set_offline(True)
    page.get_by_role("button", name="Log it").click()
    expect(page.get_by_role("heading", name="Write this on the tag")).to_be_visible()
    context.set_offline(False)
    expect(page.get_by_text(re.compile("It has gone up as F"))).to_be_visible()
    assert Pollination.objects.count() == 1


def test_what_a_rule_refuses_with_a_signal_is_said_by_the_ordinary_form(phone, tansy, pair, site):
    page = ready(phone(), tansy, site)
    page.goto("/flowers/add/")
    page.get_by_label("Seed parent").fill("Primula 'Nobody Grows This'")
    page.get_by_label("Pollen parent").fill(pair[1].number)
    page.get_by_role("button", name="Log it").click()
    expect(page.get_by_role("alert").first).to_contain_text("No plant is called")
    expect(page.get_by_label("Pollen parent")).to_have_value(pair[1].number)
    page.goto("/offline/")
    expect(waiting(page).get_by_text("Nothing waits.")).to_be_visible()
