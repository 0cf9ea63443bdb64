"""Everything of the bench without a signal: harvest, packets, sowing, plants, numbers, refusals."""

import re

from playwright.sync_api import Page, Route, expect

from crosses.base.clock import now
from crosses.models import Check, Cross, Harvest, Plant, Pollination
from seedbank.bank.models import Lot, Packet, Place
from seedbank.sowings.models import Sowing
from tests.browser.conftest import PHONE, sign_in
from tests.browser.device import kill, log_pollination, open_section, ready, waiting
from tests.browser.scene import Year, grown_and_given
from tests.factories.crosses import make_plant


def harvest_without_signal(page: Page, year: Year) -> None:
    card = page.locator(f"#bench li:has-text('{year.flower}')")
    card.locator("summary").click()
    card.get_by_role("link", name="Harvest").click()
    section = page.locator("#harvest")
    section.get_by_label(f"Capsules of {year.flower}").fill("2")
    section.get_by_role("button", name="Keep it here").click()
    expect(page.locator("#waiting").get_by_text("2 capsules taken in").first).to_be_visible()


def pack_without_signal(page: Page) -> None:
    open_section(page, "Bench")
    page.locator("#bench").get_by_role("link", name="Put in packets").click()
    section = page.locator("#packets")
    section.get_by_label("Packets", exact=False).first.fill("2")
    section.get_by_label("Seeds in each").fill("20")
    section.get_by_label("Place").fill("new place: Green tin")
    section.get_by_role("button", name="Keep it here").click()
    expect(page.locator("#waiting").get_by_text(": 2 packets").first).to_be_visible()


def sow_without_signal(page: Page, packet: str) -> None:
    open_section(page, "Sow")
    section = page.locator("#sowing")
    section.get_by_label("Packet", exact=True).fill(packet)
    section.get_by_label("Seeds sown").fill("10")
    section.get_by_role("button", name="Keep it here").click()
    expect(page.locator("#waiting").get_by_text("10 seeds sown").first).to_be_visible()


def test_harvest_packets_sowing_plant_and_withdrawal_outlive_a_kill_and_go_up_once_each(
    phone, tansy, pair, site, tmp_path
):
    year = grown_and_given(tansy)
    packet = Packet.objects.filter(lot__number=year.lot, seeds_left=25).first().number
    slip = Pollination.objects.exclude(number=year.flower).first()
    before = {model: model.objects.count() for model in (Harvest, Lot, Sowing, Plant)}
    context = phone()
    page = ready(context, tansy, site)
    context.set_offline(True)
    page.goto("/bench/")
    harvest_without_signal(page, year)
    pack_without_signal(page)
    page.reload()
    sow_without_signal(page, packet)
    page.goto("/plants/add/")
    page.locator("#plant").get_by_label("Your own label").fill("GR")
    page.locator("#plant").get_by_role("button", name="Keep it here").click()
    expect(page.locator("#waiting").get_by_text("New plant GR").first).to_be_visible()
    page.goto(f"/flowers/{slip.number}/withdraw/")
    page.locator("#withdrawal").get_by_label("Why").fill("a slip of the finger")
    page.locator("#withdrawal").get_by_role("button", name="Withdraw").click()
    expect(page.locator("#waiting").get_by_text("a slip of the finger").first).to_be_visible()
    expect(waiting(page).get_by_text("5 waiting")).to_be_visible()
    kill(context, tmp_path / "phone")

    context = phone()
    context.set_offline(True)
    page = context.pages[0]
    page.goto("/offline/#waiting")
    expect(page.locator("#waiting").get_by_text("5 waiting")).to_be_visible()
    lost: list[str] = []

    def lose_each_once(route: Route) -> None:
        key = re.search(r'name="client_key"\r\n\r\n([0-9a-f-]+)', route.request.post_data or "")
        if key and key[1] not in lost:
            lost.append(key[1])
            route.fetch()
            route.abort()
        else:
            route.continue_()

    context.route("**/offline/entry/", lose_each_once)
    sign_in(context, tansy, site)
    context.set_offline(False)
    for _ in range(8):
        send = page.get_by_role("button", name="Send them now")
        if send.is_visible():
            send.click()
        page.wait_for_timeout(400)
    # The withdrawn flower was harvested from, and a rule says so; the rest is up.
    expect(page.locator("#waiting").get_by_role("status")).to_contain_text("1 asks you")
    assert len(lost) >= 4
    made = {model: model.objects.count() - count for model, count in before.items()}
    assert made == {Harvest: 1, Lot: 1, Sowing: 1, Plant: 1}
    lot = Lot.objects.get(harvest=Harvest.objects.latest("pk"))
    assert lot.packets.count() == 2
    assert Place.objects.get(owner=tansy).code == "Green tin"
    assert Plant.objects.latest("pk").name_text == "GR"


def test_the_ordinary_harvest_form_is_kept_when_the_signal_goes(phone, tansy, site):
    year = grown_and_given(tansy)
    harvests = Harvest.objects.count()
    context = phone()
    page = ready(context, tansy, site)
    page.goto(f"/crosses/{year.cross}/harvest/")
    page.get_by_label(f"Capsules of {year.flower}").fill("1")
    page.get_by_label("Seeds are").select_option("counted")
    page.get_by_label("Seeds", exact=False).nth(1).fill("88")
    context.set_offline(True)
    page.get_by_role("button", name="Harvest", exact=True).click()
    expect(page.get_by_role("heading", name="Logged on this device")).to_be_visible()
    context.set_offline(False)
    expect(page.get_by_text("Everything has gone up.")).to_be_visible()
    assert Harvest.objects.count() == harvests + 1
    assert Harvest.objects.latest("pk").seeds == 88


def test_numbers_given_without_a_signal_on_two_devices_are_those_of_the_server(
    phone, browser, tansy, pair, site
):
    smoke, lemon = pair
    third = make_plant(tansy, "Primula 'Hush'")
    context = phone()
    page = ready(context, tansy, site)
    page.wait_for_function("indexedDB.databases().then((all) => all.length > 0)")
    other = browser.new_context(base_url=site, viewport=PHONE, has_touch=True)
    other_page = ready(other, tansy, site)
    tags: list[str] = []
    for device, one in ((context, page), (other, other_page)):
        one.wait_for_timeout(600)
        device.set_offline(True)
        one.goto("/bench/")
        for seed, pollen in ((smoke, lemon), (third, smoke)):
            open_section(one, "Log a pollination")
            section = one.locator("#pollination")
            section.get_by_label("Seed parent").fill(seed.number)
            section.get_by_label("Pollen parent").fill(pollen.number)
            section.get_by_label("both ways").check()
            section.get_by_role("button", name="Keep it here").click()
            expect(one.get_by_role("heading", name="Write this on the tag")).to_be_visible()
            tags += one.locator("#tag .tag-text > div:first-child").all_inner_texts()
    year = f"{now().year % 100:02d}"
    serials = [f"{year}-{letter}{serial}" for letter in "AB" for serial in (1, 2, 3, 4)]
    assert tags == serials
    for device, one in ((context, page), (other, other_page)):
        device.set_offline(False)
        expect(waiting(one).get_by_text("Everything has gone up.")).to_be_visible()
    assert sorted(Cross.objects.values_list("own_number", flat=True)) == serials
    backwards = Cross.objects.get(own_number=f"{year}-A2")
    assert (backwards.seed_parent, backwards.pollen_parent) == (lemon, smoke)
    # A pair that has a number this season keeps it, on the device too.
    context.set_offline(True)
    page.goto("/bench/")
    log_pollination(page, lemon.number, smoke.number, 1)
    expect(page.locator("#tag .tag-text").first).to_contain_text(f"{year}-A2")
    context.set_offline(False)
    expect(waiting(page).get_by_text("Everything has gone up.")).to_be_visible()
    assert Cross.objects.count() == 8
    other.close()


def test_any_other_form_keeps_what_was_typed_and_offers_it_again(phone, tansy, site):
    context = phone()
    page = ready(context, tansy, site)
    page.goto("/places/")
    page.get_by_label("Code").fill("A-03")
    page.get_by_label("What it is").fill("Green tin")
    context.set_offline(True)
    page.get_by_role("button", name="Add").click()
    expect(page.get_by_text("No signal, so this is not sent.")).to_be_visible()
    page.goto("/offline/#waiting")
    expect(page.get_by_text("Green tin")).to_be_visible()
    context.set_offline(False)
    page.get_by_role("link", name="Fill it in again").click()
    expect(page.get_by_label("Code")).to_have_value("A-03")
    page.get_by_role("button", name="Add").click()
    expect(page.get_by_text("Place A-03 is there.")).to_be_visible()
    assert Place.objects.get(owner=tansy).name == "Green tin"
    page.goto("/offline/#waiting")
    expect(page.get_by_text("Green tin")).not_to_be_visible()


def test_a_form_whose_answer_never_comes_ends_on_our_own_page_with_what_was_typed(
    phone, tansy, site
):
    context = phone()
    page = ready(context, tansy, site)
    page.goto("/places/")
    page.get_by_label("Code").fill("B-07")
    # The browser believes that there is a signal, and there is none.
    context.route("**/places/", lambda route: route.abort())
    page.get_by_role("button", name="Add").click()
    expect(page.get_by_role("heading", name="Filled in, not sent")).to_be_visible()
    expect(page.get_by_text("B-07")).to_be_visible()


def test_a_refused_entry_asks_with_its_choices_and_nothing_stays_behind_it(
    phone, tansy, pair, site
):
    other = make_plant(tansy, "Primula 'Quillfeather Haze'")
    context = phone()
    page = ready(context, tansy, site)
    context.set_offline(True)
    page.goto("/bench/")
    log_pollination(page, "quillfeather", pair[1].number, 2)
    open_section(page, "Bench")
    card = page.locator("#bench li.flower").first
    card.get_by_role("button", name="Swelling").click()
    expect(page.get_by_text("Noted here: Swelling.")).to_be_visible()
    context.set_offline(False)
    section = waiting(page)
    expect(section.get_by_role("status")).to_contain_text("1 asks you")
    expect(section.get_by_role("button", name="Write it all the same")).not_to_be_visible()
    section.get_by_role("button", name="Change it").first.click()
    expect(page.locator("#pollination").get_by_role("alert")).to_contain_text("Several plants fit")
    waiting(page)
    section.get_by_role("button", name=re.compile(other.number)).click()
    expect(section.get_by_text("Everything has gone up.")).to_be_visible()
    assert Pollination.objects.get().cross.seed_parent == other
    assert Check.objects.get(kind="swelling").pollination == Pollination.objects.get()
