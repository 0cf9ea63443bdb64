"""The packing table by keyboard scanner: a scanner types a number and presses Enter, and nothing else."""

import pytest
from playwright.sync_api import Page, expect

from seedbank.exchange.models import Parcel, ParcelItem
from seedbank.members.models import Member
from tests.browser.conftest import DESK
from tests.browser.scene import announced_round, store_of_lots

# Counts the tones instead of playing them; a test cannot listen.
LISTEN = """
window.tones = [];
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (...when) {
  window.tones.push(this.frequency.value);
  return start.apply(this, when);
};
"""


@pytest.fixture
def parcel(ignatius, tansy, cosmo) -> Parcel:
    """Tansy's parcel of three packets; Cosmo has one of his own."""
    lots = store_of_lots(ignatius, "Primula a", "Primula b", "Primula c")
    announced_round(ignatius, lots, {tansy: [1, 2, 3], cosmo: [1]})
    return Parcel.objects.get(member=tansy)


def _numbers(parcel: Parcel) -> list[str]:
    items = ParcelItem.objects.filter(parcel=parcel, released_at=None)
    return list(items.order_by("packet__number").values_list("packet__number", flat=True))


def _take(open_as, packer: Member, parcel: Parcel) -> Page:
    page = open_as(packer, DESK)
    page.context.add_init_script(LISTEN)
    page.goto(f"/parcels/{parcel.number}/")
    return page


def _take_in_hand(page: Page) -> None:
    page.get_by_role("button", name="Take it in hand").click()
    expect(page.get_by_label("Packet number")).to_be_focused()
    # The field is ready before the script; a scan in between is sent the ordinary way.
    page.wait_for_load_state()


def _scan(page: Page, number: str) -> None:
    """Type as a scanner does: into whatever has the focus."""
    page.keyboard.type(number)
    page.keyboard.press("Enter")


def _tones(page: Page) -> list[float]:
    return page.evaluate("window.tones")


def test_a_parcel_is_packed_by_scanner_alone_killed_halfway_and_gone_on_with(
    open_as, hettie, parcel
):
    first, second, third = _numbers(parcel)
    page = _take(open_as, hettie, parcel)
    _take_in_hand(page)
    _scan(page, first)
    expect(page.get_by_text(f"{first} is in.")).to_be_visible()
    expect(page.get_by_label("Packet number")).to_be_focused()

    # The tablet dies: no word of goodbye, and another one is taken.
    page.context.close()
    page = _take(open_as, hettie, parcel)
    expect(page.get_by_text("1 of 3 packets packed")).to_be_visible()
    expect(page.get_by_label("Packet number")).to_be_focused()
    _scan(page, second)
    expect(page.get_by_text("2 of 3 packets packed")).to_be_visible()
    # Codes on labels are whole addresses.
    _scan(page, f"https://seed.example.org/s/{third}")
    expect(page.get_by_text("All 3 packets are in.")).to_be_visible()
    expect(page.get_by_role("link", name="On to closing it")).to_be_focused()
    page.get_by_role("button", name="Close the parcel").click()
    expect(page.get_by_text(f"{parcel.number} is closed.")).to_be_visible()
    assert ParcelItem.objects.filter(parcel=parcel, packed_at__isnull=False).count() == 3


def test_a_wrong_packet_is_refused_with_words_and_sound_and_the_next_scan_is_typed_over_it(
    open_as, hettie, cosmo, parcel
):
    (wrong,) = _numbers(Parcel.objects.get(member=cosmo))
    right = _numbers(parcel)[0]
    page = _take(open_as, hettie, parcel)
    _take_in_hand(page)
    _scan(page, wrong)
    expect(page.locator("#refusals")).to_contain_text(wrong)
    assert _tones(page) == [180]
    expect(page.get_by_label("Packet number")).to_be_focused()
    _scan(page, right)
    expect(page.get_by_text(f"{right} is in.")).to_be_visible()
    assert _tones(page) == [180, 880]


def test_a_scan_that_does_not_reach_the_server_is_said_to_be_scanned_again(open_as, hettie, parcel):
    first = _numbers(parcel)[0]
    page = _take(open_as, hettie, parcel)
    _take_in_hand(page)
    page.context.set_offline(True)
    _scan(page, first)
    expect(page.get_by_role("alert")).to_contain_text("scan this one again")
    page.context.set_offline(False)
    _scan(page, first)
    expect(page.get_by_text(f"{first} is in.")).to_be_visible()


def test_the_board_shows_the_party_what_is_packed_without_being_loaded_anew(
    open_as, hettie, parcel
):
    page = _take(open_as, hettie, parcel)
    _take_in_hand(page)
    board = page.context.new_page()
    board.goto("/packing/")
    expect(board.get_by_text("0 of 4 packets")).to_be_visible()
    _scan(page, _numbers(parcel)[0])
    expect(page.get_by_text("1 of 3 packets packed")).to_be_visible()
    expect(board.get_by_text("1 of 4 packets")).to_be_visible(timeout=15_000)


def test_a_scanner_quicker_than_the_line_loses_no_packet(open_as, hettie, parcel):
    page = _take(open_as, hettie, parcel)
    _take_in_hand(page)
    for number in _numbers(parcel):
        _scan(page, number)
    expect(page.get_by_text("3 of 3 packets packed")).to_be_visible()
    assert _tones(page) == [880, 880, 880]
