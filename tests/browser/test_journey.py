"""The way of the seed in a real browser, with a thumb on a phone and with a keyboard at the desk."""

import datetime
import re

import pytest
from playwright.sync_api import Page, expect

from crosses.base.clock import today
from crosses.models import Pollination
from seedbank.bank.models import Packet
from seedbank.exchange.models import Parcel, ParcelItem
from seedbank.members.actions.roles import Role, give_role
from seedbank.members.models import Member
from seedbank.sowings.models import Count
from tests.browser.conftest import DESK, PHONE
from tests.browser.scene import announced_round, round_of, store_of_lots
from tests.factories.bank import PlaceFactory
from tests.factories.crosses import make_plant
from tests.factories.members import MemberFactory


def day(days_before: int) -> str:
    return (today() - datetime.timedelta(days=days_before)).isoformat()


def press(page: Page, name: str) -> None:
    page.locator("main").get_by_role("button", name=name, exact=True).click()


def follow(page: Page, name: str) -> None:
    page.locator("main").get_by_role("link", name=name, exact=True).first.click()


def number_in_address(page: Page, noun: str) -> str:
    """Wait for the page of a record and return its number."""
    pattern = re.compile(rf"/{noun}/([A-Z]\d{{6}}-\d\d)/")
    expect(page).to_have_url(pattern)
    return pattern.search(page.url)[1]


@pytest.fixture
def pair(tansy):
    return [
        make_plant(tansy, "Primula 'Quillfeather Smoke'", style_form="thrum"),
        make_plant(tansy, "Primula 'Oddwater Lemon'", style_form="pin"),
    ]


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_from_the_flower_to_the_keepers_store(open_as, tansy, ignatius, pair, size):
    page = open_as(tansy, size)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Tansy Oddwater")
    follow(page, "Log a pollination")
    page.get_by_label("Seed parent").fill("Primula 'Quillfeather Smoke'")
    page.get_by_label("Pollen parent").fill("Primula 'Oddwater Lemon'")
    page.get_by_label("Flowers", exact=True).fill("6")
    page.get_by_label("Day", exact=True).fill(day(110))
    page.get_by_label("both ways: the reciprocal too").check()
    page.get_by_label("Flowers on the other plant").fill("5")
    press(page, "Log it")
    # The tag of each plant, seed parent first, with the number to write on it.
    tags = page.locator(".tag-text")
    expect(tags).to_have_count(2)
    forth, back = Pollination.objects.order_by("pk")
    expect(tags.first).to_contain_text(re.compile(r"Smoke.*Lemon.*" + forth.number, re.DOTALL))
    expect(tags.last).to_contain_text(re.compile(r"Lemon.*Smoke.*" + back.number, re.DOTALL))

    page.goto(f"/flowers/{forth.number}/")
    follow(page, "What do you see?")
    page.get_by_label("Day", exact=True).fill(day(60))
    page.get_by_label("On how many").fill("5")
    press(page, "Ovary swelling")
    expect(page.get_by_role("main")).to_contain_text("5 set")

    page.goto(f"/flowers/{forth.number}/")
    follow(page, "Harvest")
    page.get_by_label("Day", exact=True).fill(day(20))
    page.get_by_label(f"Capsules of {forth.number}").fill("4")
    page.get_by_label("Seeds are").select_option("counted")
    page.get_by_label("Seeds optional", exact=True).fill("120")
    press(page, "Harvest")
    # Counted seed leads straight on into its packets, and the page says what is left.
    page.get_by_label("Packets optional", exact=True).fill("4")
    page.get_by_label("Seeds in each").fill("25")
    expect(page.locator("output")).to_have_text(
        "4 packets of 25 take 100 of 120 seeds; 20 stay loose in the lot."
    )
    press(page, "Store it and print labels")
    lot = number_in_address(page, "lots")
    expect(page.get_by_role("main")).to_contain_text("4 labels")
    packet = Packet.objects.order_by("pk").first()

    page.goto(f"/packets/{packet.number}/")
    follow(page, "Sow it")
    page.get_by_label("Sown on").fill(day(14))
    page.get_by_label("Seeds sown").fill("25")
    press(page, "Sow")
    number_in_address(page, "sowings")
    page.goto("/sowings/counts/")
    page.get_by_label("Looked at on").fill(day(1))
    page.get_by_label(re.compile("^Seedlings of")).fill("9")
    press(page, "Save the counts")
    expect(page.get_by_role("status")).to_be_visible()
    assert Count.objects.get().newly_seen == 9
    page.goto(f"/packets/{packet.number}/")
    expect(page.locator(".chain")).to_contain_text("9 of 25 seeds")

    page.goto("/donations/offer/")
    page.get_by_label(f"Packets of {lot}").fill("2")
    press(page, "Offer it")
    donation = number_in_address(page, "donations")

    PlaceFactory(code="A-03")
    desk = open_as(ignatius, size)
    follow(desk, "1 donation to take in")
    follow(desk, donation)
    follow(desk, "Receive")
    desk.get_by_label("accept").check()
    desk.get_by_label("Packets that came").fill("2")
    desk.get_by_label("Into place").last.fill("A-03")
    press(desk, "Write the answers")
    expect(desk.get_by_role("main")).to_contain_text("accepted")
    assert Packet.objects.filter(lot__number=lot, state=Packet.State.IN_STORE).count() == 2
    page.reload()
    expect(page.get_by_role("main")).to_contain_text("accepted")


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_wishes_are_ranked_from_the_list_and_by_number(open_as, tansy, ignatius, size):
    lots = store_of_lots(ignatius, "Primula allionii", "Primula marginata", "Primula veris")
    round_of(ignatius, lots, opened=2, closed=-7)
    page = open_as(tansy, size)
    follow(page, "Read the list")
    page.get_by_role("button", name="Wish for line 2").click()
    expect(page.locator("#wish-count")).to_have_text("Your wishes (1)")
    page.locator("#wish-count").click()
    whole, main = page.locator("#whole-list summary"), page.get_by_label("What you would like")
    expect(main).to_have_value("2")
    whole.click()
    main.fill("2, 3, 1")
    press(page, "Save this list")
    page.get_by_role("button", name="Line 1 up").click()
    expect(page.get_by_label("What you would like")).to_have_value("2, 1, 3")
    whole.click()
    main.fill("2, 99")
    press(page, "Save this list")
    expect(page.locator("#refusals")).to_contain_text("99")
    expect(main).to_have_value("2, 99")


@pytest.fixture
def parcels(tansy, cosmo, ignatius) -> tuple[Parcel, Parcel]:
    """Tansy is to have two packets, Cosmo one of another lot."""
    lots = store_of_lots(ignatius, "Primula allionii", "Primula marginata", "Primula veris")
    announced_round(ignatius, lots, {tansy: [1, 2], cosmo: [3]})
    return Parcel.objects.get(member=tansy), Parcel.objects.get(member=cosmo)


def numbers_of(parcel: Parcel) -> list[str]:
    return list(parcel.items.order_by("pk").values_list("packet__number", flat=True))


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_parcel_is_packed_from_the_keyboard_alone(open_as, hettie, parcels, size):
    mine, other = parcels
    page = open_as(hettie, size)
    page.goto(f"/parcels/{mine.number}/")
    page.get_by_role("button", name="Take it in hand").press("Enter")

    def type_number(number: str) -> None:
        # The cursor waits in the field after every packet: a scanner types and presses Enter.
        expect(page.get_by_label("Packet number")).to_be_focused()
        page.keyboard.type(number)
        page.keyboard.press("Enter")

    first, second = numbers_of(mine)
    type_number(numbers_of(other)[0])
    expect(page.locator("#refusals")).to_contain_text(other.number)
    page.get_by_label("Packet number").fill("")
    # Two digits swapped, as happens with cold hands.
    swapped = first[:-2] + first[-1] + first[-2]
    page.keyboard.type(swapped)
    page.keyboard.press("Enter")
    expect(page.locator("#refusals")).to_be_visible()
    assert not ParcelItem.objects.filter(packed_at__isnull=False).exists()
    page.get_by_label("Packet number").fill("")
    type_number(first)
    expect(page.get_by_text(f"{first} is in.")).to_be_visible()
    type_number(second)
    expect(page.get_by_text(f"{second} is in.")).to_be_visible()
    page.get_by_role("button", name="Close the parcel").press("Enter")
    page.get_by_role("button", name="It is posted").press("Enter")
    expect(page.get_by_role("status")).to_contain_text(f"{mine.number} is on its way")
    mine.refresh_from_db()
    assert mine.posted_on == today()


def at_the_same_moment(first: Page, second: Page, press_button: str) -> None:
    """Send the form of two windows without waiting for the answer of either."""
    for page in (first, second):
        button = page.get_by_role("button", name=press_button)
        button.evaluate("button => { setTimeout(() => button.click(), 0) }")
    for page in (first, second):
        expect(page.locator(".message, [role=alert], .scan").first).to_be_visible()


def test_of_two_who_take_one_parcel_at_once_one_has_it(open_as, hettie, parcels):
    tabitha = MemberFactory(name="Tabitha Sorrel", email="tabitha@example.org")
    tabitha.set_password("a long enough word")
    tabitha.save()
    give_role(member=tabitha, role=Role.PACKER)
    windows = [open_as(packer, DESK) for packer in (hettie, Member.objects.get(pk=tabitha.pk))]
    for page in windows:
        page.goto(f"/parcels/{parcels[0].number}/")
    at_the_same_moment(*windows, "Take it in hand")
    # Only one of the two may type packets into it.
    assert sum(page.get_by_label("Packet number").count() for page in windows) == 1
    assert sum(page.get_by_text("has this parcel in hand").count() for page in windows) == 1


def test_of_two_windows_that_send_one_packet_at_once_one_packs_it(open_as, hettie, parcels):
    number = numbers_of(parcels[0])[0]
    windows = [open_as(hettie, size) for size in (DESK, PHONE)]
    windows[0].goto(f"/parcels/{parcels[0].number}/")
    press(windows[0], "Take it in hand")
    for page in windows:
        page.goto(f"/parcels/{parcels[0].number}/")
        page.get_by_label("Packet number").fill(number)
    at_the_same_moment(*windows, "Pack it")
    for page in windows:
        expect(page.locator("main[data-scanned]")).to_be_visible()
    assert sum(page.get_by_text(f"{number} is in.").count() for page in windows) == 1
    refused = [page.locator("#refusals") for page in windows]
    assert sum(one.get_by_text("is in this parcel already").count() for one in refused) == 1
    assert ParcelItem.objects.filter(packed_at__isnull=False).count() == 1


def test_with_scripts_off_a_pollination_is_logged_and_looked_at(browser, site, tansy, pair):
    context = browser.new_context(viewport=PHONE, base_url=site, java_script_enabled=False)
    page = context.new_page()
    page.goto("/flowers/add/")
    page.get_by_label("E-mail").fill(tansy.email)
    page.get_by_label("Password").fill("a long enough word")
    press(page, "Sign in")
    page.get_by_label("Seed parent").fill(pair[0].number)
    page.get_by_label("Pollen parent").fill(pair[1].number)
    press(page, "Log it")
    expect(page.locator(".tag-text")).to_be_visible()
    number = Pollination.objects.get().number
    expect(page.locator(".tag-text")).to_contain_text(number)
    page.get_by_text("You", exact=True).click()
    expect(page.get_by_role("link", name="Your page")).to_be_visible()
    page.locator("header").get_by_role("link", name="Flowers").click()
    press(page, "Swelling")
    expect(page.get_by_role("main")).to_contain_text("taken")
    assert Pollination.objects.get().state == "taken"
    context.close()
