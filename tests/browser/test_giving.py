"""Giving seed with a thumb, checking it in with a scanner, and the pages about it without a fault."""

from playwright.sync_api import expect

from seedbank.bank.models import Donation, Packet
from tests.browser.conftest import DESK, PHONE
from tests.browser.scene import announced_round, grown_and_given, store_of_lots
from tests.browser.test_axe import faults_of
from tests.factories.bank import LotFactory, PlaceFactory


def test_loose_seed_is_given_in_two_taps_and_checked_in_by_scan(open_as, tansy, ignatius):
    LotFactory(raised_by=tansy, name_text="Primula veris", seed_counting="counted", seeds=60)
    PlaceFactory(code="A-03")
    page = open_as(tansy, PHONE)
    page.goto("/donations/offer/")
    page.get_by_role("button", name="Give these").tap()
    expect(page.get_by_text("It is in your envelope.")).to_be_visible()
    donation = Donation.objects.get()
    desk = open_as(ignatius, DESK)
    desk.goto(f"/donations/{donation.number}/receive/")
    desk.get_by_label("Into place").first.fill("A-03")
    for packet in Packet.objects.order_by("pk"):
        # A scanner types the code and then Enter; the place stays.
        desk.get_by_label("Scan a packet").fill(packet.number)
        desk.keyboard.press("Enter")
        expect(desk.get_by_text(f"{packet.number}: Primula veris")).to_be_visible()
    expect(desk.get_by_text("Every line has its answer.")).to_be_visible()
    assert donation.lines.get().answer == "accepted"
    assert set(Packet.objects.values_list("state", flat=True)) == {"in_store"}


def test_the_pages_of_giving_and_the_report_have_no_fault(open_as, tansy, ignatius):
    year = grown_and_given(tansy)
    LotFactory(raised_by=tansy, name_text="Primula veris", seed_counting="counted", seeds=60)
    page = open_as(tansy, PHONE)
    pages = ("/donations/offer/", "/donations/offer/by-hand/", "/given/")
    assert faults_of(page, *pages, f"/donations/{year.donation}/") == []
    lots = store_of_lots(ignatius, "Primula veris", "Primula elatior")
    found = announced_round(ignatius, lots, {tansy: [1, 2]})
    desk = open_as(ignatius, DESK)
    report = f"/rounds/{found.slug}/report/"
    assert faults_of(desk, report, f"/donations/{year.donation}/receive/") == []
    assert faults_of(open_as(ignatius, PHONE), report) == []
