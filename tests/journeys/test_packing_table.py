"""The packers' half: a parcel in hand, packets checked in by number, a slip, and the post."""

import html
import io
import re

import pypdf
import pytest
from django.db import IntegrityError, transaction
from scipy.stats import binomtest
from stdnum.iso7064 import mod_97_10

from seedbank.exchange.models import ParcelItem
from seedbank.members.actions.roles import Role, give_role
from tests.factories.members import MemberFactory
from tests.journeys.conftest import AT, AURICULA, SEEDS_CAME, SEEDS_EACH, numbers_on

pytestmark = pytest.mark.django_db

ROLLOS_ADDRESS = "4 Nowhere Row"


def parcel_of(year, name: str) -> str:
    return numbers_on(year.visit(name).see(f"{AT}/result/mine/"), "R")[0]


def packets_by_name(page: str) -> dict[str, str]:
    """The packets that a parcel's page asks for, by the name of the seed."""
    rows = re.findall(
        r'<a class="number" href="/packets/(.*?)/">.*?<td>(.*?)</td>', page, re.DOTALL
    )
    return {re.sub(r"<.*?>", "", name): number for number, name in rows}


@pytest.fixture
def number(announced) -> str:
    """Rollo's parcel; it goes abroad."""
    return parcel_of(announced, "rollo")


@pytest.fixture
def packer(announced, number):
    """Hettie has Rollo's parcel in hand."""
    packer = announced.visit("hettie")
    packer.press(f"/parcels/{number}/take/")
    return packer


@pytest.fixture
def packets(packer, number) -> dict[str, str]:
    return packets_by_name(packer.see(f"/parcels/{number}/"))


def test_an_address_is_seen_by_the_packer_who_has_the_parcel_in_hand_and_by_the_keeper(
    announced, number
):
    page, slip = f"/parcels/{number}/", f"/parcels/{number}/slip.pdf"
    hettie = announced.visit("hettie")
    assert ROLLOS_ADDRESS not in hettie.see(page)
    assert ROLLOS_ADDRESS not in _text_of(hettie, slip)
    taken = hettie.press(f"{page}take/")
    assert ROLLOS_ADDRESS in taken
    assert "AUSTRALIA" in taken
    assert ROLLOS_ADDRESS in _text_of(hettie, slip)
    second = MemberFactory(name="Barnaby Crosswort")
    give_role(member=second, role=Role.PACKER)
    announced.people["barnaby"] = second
    barnaby = announced.visit("barnaby")
    assert "Hettie Quagmire has this parcel in hand" in barnaby.press(f"{page}take/")
    assert ROLLOS_ADDRESS not in barnaby.see(page)
    assert ROLLOS_ADDRESS not in _text_of(barnaby, slip)
    assert ROLLOS_ADDRESS in announced.visit("ignatius").see(page)
    for path in ("/packing/", "/packing/pick/", "/packing/slips.pdf", f"{page}short/"):
        assert announced.visit("tansy").client.get(path).status_code in {403, 404}
    announced.visit("tansy").see(page, status=404)
    hettie.press(f"{page}take/", down="1")
    assert ROLLOS_ADDRESS not in hettie.see(page)
    assert "Barnaby Crosswort" in barnaby.press(f"{page}take/")


def test_the_board_shows_countries_and_progress_and_no_address(packer, number):
    board = packer.see("/packing/")
    assert number in board
    assert "<b>Australia</b>" in board
    assert "in hand: Hettie Quagmire" in board
    assert "Nowhere Row" not in board


def test_the_right_number_packs_and_every_wrong_one_is_told_apart(
    announced, packer, number, packets
):
    scan, right = f"/parcels/{number}/scan/", packets[AURICULA]
    of_tansy = packets_by_name(
        announced.visit("ignatius").see(f"/parcels/{parcel_of(announced, 'tansy')}/")
    )
    last = "0" if right[-1] != "0" else "1"
    wrong = {
        right[:-1] + last: "mistyped",
        _swapped(right): "mistyped",
        right.replace("S", "L"): "lot",
        "S9": "digits",
        of_tansy[AURICULA]: f"the right seed, but packet {right} is promised to this parcel",
        _unknown(right): "There is no packet",
    }
    for typed, words in wrong.items():
        page = html.unescape(packer.press(scan, number=typed))
        assert words in page, typed
        assert f'value="{typed}"' in page
    assert f"{right} is in." in packer.press(scan, number=f"https://seed.example.org/s/{right}")
    assert "is in this parcel already" in packer.press(scan, number=right)


def test_only_who_has_the_parcel_in_hand_packs_it(announced, number):
    packets = packets_by_name(announced.visit("hettie").see(f"/parcels/{number}/"))
    scan = f"/parcels/{number}/scan/"
    page = announced.visit("hettie").press(scan, number=packets[AURICULA])
    assert "Take the parcel in hand first" in page
    for name, status in (("rollo", 403), ("tansy", 404)):
        answer = announced.visit(name).client.post(scan, {"number": packets[AURICULA]})
        assert answer.status_code == status


def test_a_packet_that_is_not_there_is_replaced_or_owed_and_closing_waits_for_it(
    announced, packer, number, packets
):
    page = packer.press(f"/parcels/{number}/close/")
    assert "Not in the parcel yet" in page
    assert packets[AURICULA] in page
    short = re.search(rf"/parcels/{number}/items/\d+/short/", _row(page, packets[AURICULA]))[0]
    page = packer.fill(short, what="missing", note="the tray is empty")
    instead = re.search(r"Take (S\d{6}-\d\d) instead", page)[1]
    assert instead != packets[AURICULA]
    assert "the tray is empty" in page.split("Given up")[1]
    for packet in numbers_on(page.split("<tbody>")[1].split("</tbody>")[0], "S"):
        packer.press(f"/parcels/{number}/scan/", number=packet)
    assert "closed" in packer.press(f"/parcels/{number}/close/")


def test_where_no_other_packet_is_left_the_member_is_owed_one(announced):
    """Both packets of line 2 are promised; whoever took the last has none to take instead."""
    last = ParcelItem.objects.filter(line__line_number=2).latest("turn")
    number, packer = last.parcel.number, announced.visit("hettie")
    page = packer.press(f"/parcels/{number}/take/")
    packet = packets_by_name(page)["Primula denticulata"]
    short = re.search(rf"/parcels/{number}/items/\d+/short/", _row(page, packet))[0]
    page = packer.fill(short, what="spoilt", note="mouldy")
    assert "There is no other packet; the member is owed one" in page
    assert "owed another" in page


def _pack(packer, number: str, packets: dict[str, str]) -> str:
    for packet in packets.values():
        packer.press(f"/parcels/{number}/scan/", number=packet)
    # It goes abroad, and the starting list holds it until somebody answers for it.
    return packer.press(f"/parcels/{number}/close/", held_reason="Its authority has answered.")


def test_a_parcel_is_closed_and_posted_and_its_seed_is_the_members_to_sow(
    announced, packer, number, packets
):
    assert "Close the parcel before it is posted" in packer.press(
        f"/parcels/{number}/post/", posted_on="2026-12-08"
    )
    _pack(packer, number, packets)
    page = packer.press(f"/parcels/{number}/post/", posted_on="2026-12-09")
    assert "That day has not come yet" in page
    assert 'value="2026-12-08"' in page
    page = packer.press(f"/parcels/{number}/post/", posted_on="2026-12-08", weight_grams=40)
    assert "is on its way" in page
    # A parcel in the post needs no address any more.
    assert ROLLOS_ADDRESS not in packer.see(f"/parcels/{number}/")
    rollo = announced.visit("rollo")
    assert "posted 8 Dec 2026" in rollo.see(f"{AT}/result/mine/")
    packet = packets[AURICULA]
    rollo.fill(f"/sowings/add/?packet={packet}", packet=packet, seeds_sown=SEEDS_EACH)
    assert rollo.number.startswith("W")


def test_the_slip_says_what_is_in_the_parcel(packer, number, packets):
    text = _text_of(packer, f"/parcels/{number}/slip.pdf")
    assert number in text
    assert "Rollo Fiddlewick" in text
    for name, packet in packets.items():
        # The reader guesses spaces from widths, and in the italics it now and then guesses none.
        assert name.replace(" ", "") in text.replace(" ", "")
        assert packet in text
        assert mod_97_10.is_valid(packet.replace("-", ""))
        assert f"{SEEDS_EACH} seeds, 2025" in text
    interval = binomtest(SEEDS_CAME, SEEDS_EACH).proportion_ci(method="wilson")
    low, high = round(100 * interval.low), round(100 * interval.high)
    assert f"({low}–{high} %, {SEEDS_CAME} of {SEEDS_EACH} seeds)" in text
    assert "This is a reminder, not legal advice" in text


def test_the_database_itself_refuses_a_second_promise_of_a_packet(announced, number):
    item = ParcelItem.objects.filter(parcel__number=number).first()
    other = ParcelItem.objects.exclude(parcel=item.parcel).first().parcel
    with pytest.raises(IntegrityError, match="packet"), transaction.atomic():
        ParcelItem.objects.create(
            parcel=other, line=item.line, packet=item.packet, promised_at=item.promised_at
        )


def _text_of(visitor, path: str) -> str:
    answer = visitor.client.get(path)
    assert answer["Content-Type"] == "application/pdf"
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def _row(page: str, packet: str) -> str:
    """The row of a table in which a packet stands."""
    return next(row for row in page.split("<tr")[1:] if f"/packets/{packet}/" in row)


def _swapped(number: str) -> str:
    """The number with two neighbouring digits swapped that are not the same."""
    at = next(
        at
        for at in range(len(number) - 1, 1, -1)
        if number[at] != number[at - 1] and "-" not in number[at - 1 : at + 1]
    )
    return number[: at - 1] + number[at] + number[at - 1] + number[at + 1 :]


def _unknown(number: str) -> str:
    """A well written number that no packet has: 97 packets on, the check digits are the same."""
    return f"S{int(number[1:7]) + 97 * 100:06d}{number[7:]}"
