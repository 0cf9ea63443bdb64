"""The pages at which packets are made, labelled, put away, split and discarded."""

import io
import shutil
import subprocess

import pypdf
import pytest
import zxingcpp
from django.urls import reverse
from PIL import Image

from crosses.formats.labelsheet import SHEETS
from seedbank.bank.labels import labels_pdf
from seedbank.bank.models import Packet
from tests.factories.bank import LotFactory, PlaceFactory, packet_in_store, packets_of

pytestmark = pytest.mark.django_db


def text_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def test_making_packets_leads_to_their_labels(tansy, signed_in):
    lot = LotFactory(raised_by=tansy)
    answer = signed_in(tansy).post(
        reverse("packets-add", args=[lot.number]), {"how_many": 4, "seeds_each": 25, "place": ""}
    )
    first, last = lot.packets.first(), lot.packets.last()
    assert lot.packets.count() == 4
    assert answer.url == (
        f"{reverse('packets-labels', args=[lot.number])}?from={first.number}&to={last.number}"
    )


def test_too_many_packets_are_refused_at_their_field_and_the_rest_is_kept(tansy, signed_in):
    lot = LotFactory(raised_by=tansy, seed_counting="counted", seeds=60)
    drawer = PlaceFactory(owner=tansy)
    answer = signed_in(tansy).post(
        reverse("packets-add", args=[lot.number]),
        {"how_many": 3, "seeds_each": 25, "place": drawer.code},
    )
    form = answer.context["form"]
    assert "60 of the lot's 60" in form.errors["how_many"][0]
    assert form["place"].value() == drawer.code
    assert not lot.packets.exists()


def test_an_unknown_place_is_told_at_its_field(tansy, signed_in):
    lot = LotFactory(raised_by=tansy)
    PlaceFactory(code="A-03")
    answer = signed_in(tansy).post(
        reverse("packets-add", args=[lot.number]),
        {"how_many": 1, "seeds_each": 25, "place": "A-03"},
    )
    assert answer.context["form"].errors["place"] == ["You have no place A-03."]
    assert b'value="new place: A-03">Make a place A-03</button>' in answer.content


def test_labels_say_number_name_year_and_caution(tansy):
    lot = LotFactory(
        raised_by=tansy, name_text="Primula veris × P. vulgaris", hazard_note="irritates the skin"
    )
    packet = packets_of(lot, seeds_each=25)[0]
    # Whether a gap between italic and roman is read as a space is the reader's guess.
    text = text_of(labels_pdf([packet], SHEETS["21 of 63.5 × 38.1 mm"])).replace(" ", "")
    said = [
        packet.number,
        "Primula veris × P. vulgaris",
        "2025",
        "25 seeds",
        "Caution: irritates the skin",
    ]
    assert [words for words in said if words.replace(" ", "") not in text] == []


def test_the_code_on_a_label_leads_to_the_packet(tansy, settings):
    settings.SITE_ADDRESS = "https://seed.example.org"
    packet = packets_of(LotFactory(raised_by=tansy))[0]
    pdf = labels_pdf([packet], SHEETS["24 of 70 × 37 mm"])
    read = zxingcpp.read_barcodes(picture_of(pdf))
    assert [code.text for code in read] == [f"https://seed.example.org/s/{packet.number}"]


def picture_of(pdf: bytes) -> Image.Image:
    """Draw the first page; the code is lines and no image, so it is looked at as a scanner does."""
    pdftoppm = shutil.which("pdftoppm")
    if pdftoppm is None:
        pytest.skip("needs pdftoppm to look at the page")
    drawn = subprocess.run(
        [pdftoppm, "-r", "300", "-png", "-singlefile", "-"],
        input=pdf,
        capture_output=True,
        check=True,
    )
    return Image.open(io.BytesIO(drawn.stdout))


def test_labels_begin_at_the_free_place_and_run_on_to_the_next_sheet(tansy):
    packets = packets_of(LotFactory(raised_by=tansy), 3)
    reader = pypdf.PdfReader(
        io.BytesIO(labels_pdf(packets, SHEETS["24 of 70 × 37 mm"], start_at=23))
    )
    pages = [page.extract_text() for page in reader.pages]
    assert len(pages) == 2
    assert packets[0].number in pages[0]
    assert packets[1].number in pages[0]
    assert packets[2].number in pages[1]


def test_a_name_in_angle_brackets_is_printed_and_not_obeyed(tansy):
    lot = LotFactory(raised_by=tansy, name_text="<script>alert(1)</script>")
    assert "<script>" in text_of(labels_pdf(packets_of(lot), SHEETS["24 of 70 × 37 mm"]))


def test_the_labels_page_sends_a_pdf_once_a_sheet_is_chosen(tansy, signed_in):
    lot = LotFactory(raised_by=tansy)
    packet = packets_of(lot)[0]
    url = reverse("packets-labels", args=[lot.number])
    client = signed_in(tansy)
    assert packet.number in client.get(url).text
    answer = client.get(url, {"sheet": "24 of 70 × 37 mm", "start_at": 5})
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")


def test_measures_that_leave_the_page_are_told_at_their_field(tansy, signed_in):
    lot = LotFactory(raised_by=tansy)
    packets_of(lot)
    measures = {"columns": 4, "rows": 8, "width_mm": 70, "height_mm": 37, "left_mm": 0, "top_mm": 0}
    answer = signed_in(tansy).get(
        reverse("packets-labels", args=[lot.number]), {"sheet": "own", **measures}
    )
    assert answer.context["form"].errors["columns"] == [
        "The labels reach 280 mm across; the page is 210 mm wide."
    ]


def test_nobody_prints_labels_of_packets_they_do_not_have(tansy, cosmo, signed_in):
    lot = LotFactory(raised_by=tansy)
    packets_of(lot)
    answer = signed_in(cosmo).get(
        reverse("packets-labels", args=[lot.number]), {"sheet": "24 of 70 × 37 mm"}
    )
    assert answer.context["packets"] == []


def test_the_right_packets_are_stored_and_each_wrong_number_is_told(ignatius, tansy, signed_in):
    here, there = PlaceFactory(), PlaceFactory()
    good = packets_of(LotFactory(owner=None), 2, place=here)
    tansys = packets_of(LotFactory(raised_by=tansy))[0]
    mistyped = good[0].number[:-1] + str((int(good[0].number[-1]) + 1) % 10)
    typed = f"{good[0].number}\nhttps://seed.example.org/s/{good[1].number}\n{mistyped}\n{tansys.number}\n\n"
    answer = signed_in(ignatius).post(
        reverse("packet-store"), {"of_bank": "bank", "place": there.code, "packets": typed}
    )
    assert {packet.place for packet in Packet.objects.filter(pk__in=[p.pk for p in good])} == {
        there
    }
    refused = dict(answer.context["told"].refused)
    assert "mistyped" in refused[mistyped]
    assert refused[tansys.number] == "It is with a member: receive it through its donation."


def test_a_member_puts_packets_into_their_own_drawer(tansy, signed_in):
    drawer = PlaceFactory(owner=tansy, code="Fridge")
    packet = packets_of(LotFactory(raised_by=tansy))[0]
    answer = signed_in(tansy).post(
        reverse("packet-store"), {"place": "fridge", "packets": packet.number}
    )
    assert answer.status_code == 302
    packet.refresh_from_db()
    assert packet.place == drawer


def test_a_member_cannot_move_the_banks_packets(tansy, signed_in):
    PlaceFactory(owner=tansy, code="Fridge")
    packet = packet_in_store()
    answer = signed_in(tansy).post(
        reverse("packet-store"), {"place": "Fridge", "packets": packet.number}
    )
    assert dict(answer.context["told"].refused) == {
        packet.number: "It is not yours to move: it is in the bank's store."
    }


def test_a_packet_is_split_on_its_page(tansy, signed_in):
    packet = packets_of(LotFactory(raised_by=tansy), seeds_each=25)[0]
    signed_in(tansy).post(reverse("packet-split", args=[packet.number]), {"parts": "10 and 15"})
    assert [part.seeds for part in packet.parts.all()] == [10, 15]


@pytest.mark.parametrize("parts", ["ten", "10, -5, 20", "10 and 10"])
def test_a_wrong_split_is_told_at_its_field(tansy, signed_in, parts):
    packet = packets_of(LotFactory(raised_by=tansy), seeds_each=25)[0]
    answer = signed_in(tansy).post(reverse("packet-split", args=[packet.number]), {"parts": parts})
    assert answer.context["form"].errors["parts"]
    assert not packet.parts.exists()


def test_a_packet_is_discarded_with_its_reason(tansy, signed_in):
    packet = packets_of(LotFactory(raised_by=tansy))[0]
    signed_in(tansy).post(reverse("packet-discard", args=[packet.number]), {"why": "mouldy"})
    packet.refresh_from_db()
    assert packet.state == "discarded"


@pytest.mark.parametrize("page", ["packet-split", "packet-discard"])
def test_only_who_has_a_packet_splits_or_discards_it(tansy, cosmo, ignatius, signed_in, page):
    private = packets_of(LotFactory(raised_by=tansy, visibility="me"))[0]
    shown = packets_of(LotFactory(raised_by=tansy))[0]
    url = reverse(page, args=[shown.number])
    assert signed_in(tansy).get(url).status_code == 200
    assert signed_in(cosmo).get(url).status_code == 403
    assert signed_in(ignatius).get(url).status_code == 403
    assert signed_in(cosmo).get(reverse(page, args=[private.number])).status_code == 404
