"""The packing slip: what it says, to whom, and what it must never do."""

import http.server
import io
import re
import shutil
import subprocess
import threading
import urllib.request
from dataclasses import replace

import pikepdf
import pypdf
import pytest
import zxingcpp
from django.core.management import CommandError, call_command
from PIL import Image

from crosses.base.pdf import render_pdf
from crosses.models import Taxon
from seedbank.exchange.actions.picking import take_in_hand
from seedbank.exchange.models import Parcel
from seedbank.exchange.queries.slip import AddressLine, Slip, SlipLine, slips_for
from seedbank.exchange.slip import slip_html, slip_pdf
from tests.factories.bank import PlaceFactory, packets_of
from tests.factories.exchange import AFTER, announced, listed_round, parcel_of, stored_lot, wish
from tests.factories.members import AddressFactory, MemberFactory

LINE = SlipLine(
    packet_number="S000123-80",
    address="https://seed.example.org/s/S000123-80",
    line_number=7,
    name="Primula 'Quillfeather Smoke' × P. veris",
    seeds="25 seeds",
    year=2025,
    origin="controlled cross",
    place="A-1",
    germination=None,
    advice="Sow on the surface.",
    caution="Poisonous. Not for eating.",
)
SLIP = Slip(
    society="Quillfeather Primula Fellowship",
    round_name="Seed exchange 2026",
    parcel_number="R000001-42",
    member_number="0001",
    member_name="Tansy Oddwater",
    address=(AddressLine("Tansy Oddwater", "ltr"), AddressLine("1 Nowhere Row", "ltr")),
    is_abroad=False,
    country="United Kingdom",
    lines=(LINE,),
    report_address="https://seed.example.org/r/R000001-42/AbCdEfGhIjKlMnOp/",
)


def _pages(pdf: bytes) -> list[str]:
    return [
        re.sub(r"\s+", " ", page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages
    ]


def _open(pdf: bytes) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(pdf))


def test_a_slip_says_what_is_in_the_parcel():
    (text,) = _pages(slip_pdf([SLIP]))
    for words in (
        "Quillfeather Primula Fellowship",
        "Seed exchange 2026",
        "R000001-42",
        "1 Nowhere Row",
        "S000123-80",
        "25 seeds, 2025",
        "line 7",
        "A-1",
        "Primula 'Quillfeather Smoke' ×",
        "not known yet",
        "Sow on the surface.",
        "Caution. Poisonous. Not for eating.",
        "Page 1 of 1",
    ):
        # The reader guesses spaces from widths, and in the italics it now and then guesses none.
        assert words.replace(" ", "") in text.replace(" ", "")


def test_names_are_in_italics_and_the_sign_is_not():
    assert "<i>Primula</i> &#x27;Quillfeather Smoke&#x27; × <i>P.</i> <i>veris</i>" in slip_html(
        SLIP
    )


def test_a_slip_is_tagged_for_those_who_hear_it():
    pdf = _open(slip_pdf([SLIP]))
    assert pdf.Root.MarkInfo.Marked
    assert str(pdf.Root.Lang) == "en-GB"
    assert pdf.Root.ViewerPreferences.DisplayDocTitle
    assert str(pdf.docinfo["/Title"]) == "Packing slip R000001-42"
    with pdf.open_metadata() as about:
        assert about["pdfuaid:part"] == "1"


def test_the_codes_on_paper_lead_to_the_packet_and_to_the_page_for_reports():
    pdftoppm = shutil.which("pdftoppm")
    if pdftoppm is None:
        pytest.skip("needs pdftoppm to look at the page")
    # Read back from the drawn page, as a telephone would.
    drawn = subprocess.run(
        [pdftoppm, "-r", "200", "-png", "-singlefile", "-"],
        input=slip_pdf([SLIP]),
        capture_output=True,
        check=True,
    ).stdout
    read = zxingcpp.read_barcodes(Image.open(io.BytesIO(drawn)))
    assert {code.text for code in read} == {LINE.address, SLIP.report_address}


def test_every_slip_of_a_batch_counts_its_own_pages_and_keeps_its_tags():
    long = replace(SLIP, parcel_number="R000002-39", lines=(LINE,) * 20)
    pdf = slip_pdf([SLIP, long])
    numbers = [re.search(r"Page \d of \d", text)[0] for text in _pages(pdf)]
    assert numbers == ["Page 1 of 1", "Page 1 of 2", "Page 2 of 2"]
    assert "R000002-39" in _pages(pdf)[2]
    assert _open(pdf).Root.MarkInfo.Marked


def test_the_headings_stand_on_every_page():
    texts = _pages(slip_pdf([replace(SLIP, lines=(LINE,) * 30)]))
    assert len(texts) > 1
    assert all("Came up so far" in text for text in texts)


def test_nothing_that_is_typed_becomes_markup():
    nasty = replace(SLIP, member_name="<script>alert(1)</script>", address=())
    nasty = replace(nasty, lines=(replace(LINE, name="<img src='http://example.org/x.png'>"),))
    html = slip_html(nasty)
    assert "<script" not in html
    assert "<img" not in html
    assert "&lt;script&gt;" in html
    assert "alert(1)" in _pages(slip_pdf([nasty]))[0]


@pytest.mark.parametrize(
    "text", ["Ζωή Παπαδοπούλου", "ul. Świętokrzyska 7/9, Łódź", "Ул. Садовая 3"]
)
def test_addresses_in_other_scripts_are_printed(text):
    address = (AddressLine(text, "ltr"),)
    assert text in _pages(slip_pdf([replace(SLIP, address=address)]))[0]


@pytest.mark.parametrize("text", ["12 שדרות רוטשילד", "شارع النيل"])
def test_an_address_written_from_the_right_is_set_from_the_right(text):
    html = slip_html(replace(SLIP, address=(AddressLine(text, "rtl"),)))
    assert f'<p class="rtl">{text}</p>' in html
    assert slip_pdf([replace(SLIP, address=(AddressLine(text, "rtl"),))])


def test_a_very_long_name_wraps_and_stays_on_the_sheet():
    name = "Primula " + "'Averyveryverylongcultivarnamewithoutaspaceinit'" * 4
    pdf = _open(slip_pdf([replace(SLIP, lines=(replace(LINE, name=name),))]))
    assert len(pdf.pages) == 1


def test_a_parcel_without_a_packet_says_so():
    assert "There is no packet in this parcel." in _pages(slip_pdf([replace(SLIP, lines=())]))[0]


def test_a_parcel_abroad_carries_the_standing_line():
    abroad = replace(SLIP, is_abroad=True, country="Australia")
    assert "To Australia. This is a reminder, not legal advice." in _pages(slip_pdf([abroad]))[0]
    assert "legal advice" not in _pages(slip_pdf([SLIP]))[0]


@pytest.fixture
def parcel(ignatius, tansy, cosmo):
    AddressFactory(member=tansy, lines="1 Nowhere Row\nNettlemere")
    taxon = Taxon.objects.create(
        genus="Aconitum", species="napellus", hazard_note="Poisonous.", sowing_advice="Sow fresh."
    )
    lots = [
        stored_lot("Aconitum napellus", packets=0, taxon=taxon),
        stored_lot("Primula veris", packets=0),
    ]
    for lot, (code, walk) in zip(lots, [("B-2", 2), ("A-1", 1)], strict=True):
        packets_of(lot, 2, place=PlaceFactory(code=code, walk_order=walk))
    found = listed_round(ignatius, *lots)
    wish(found, tansy, 1, 2)
    wish(found, cosmo, 2)
    return parcel_of(announced(found, ignatius), tansy)


@pytest.mark.django_db
def test_packets_stand_in_the_order_of_the_trays(parcel, ignatius):
    (slip,) = slips_for([parcel], ignatius, with_address=set())
    assert [(line.place, line.name) for line in slip.lines] == [
        ("A-1", "Primula veris"),
        ("B-2", "Aconitum napellus"),
    ]
    assert (slip.lines[1].caution, slip.lines[1].advice) == ("Poisonous.", "Sow fresh.")


@pytest.mark.django_db
def test_what_was_given_up_is_not_on_the_slip(parcel, ignatius):
    item = parcel.items.first()
    item.released_at, item.released_by, item.released_reason = AFTER, ignatius, "mouldy"
    item.save()
    (slip,) = slips_for([parcel], ignatius, with_address=set())
    assert len(slip.lines) == 1


@pytest.mark.django_db
def test_the_address_is_printed_for_the_packer_in_hand_and_withheld_from_another(
    parcel, hettie, tansy, cosmo, signed_in
):
    page = f"/parcels/{parcel.number}/slip.pdf"

    def prints(member):
        return "Nowhere Row" in _pages(signed_in(member).get(page).content)[0]

    assert not prints(hettie)
    assert prints(tansy)
    assert signed_in(cosmo).get(page).status_code == 404
    take_in_hand(parcel=parcel, by=hettie, at=AFTER)
    assert prints(hettie)


@pytest.mark.django_db
def test_several_slips_are_one_file_with_only_the_addresses_one_may_see(
    parcel, hettie, cosmo, signed_in
):
    AddressFactory(member=cosmo, lines="2 Elsewhere")
    take_in_hand(parcel=parcel, by=hettie, at=AFTER)
    numbers = list(Parcel.objects.order_by("number").values_list("number", flat=True))
    answer = signed_in(hettie).get("/packing/slips.pdf", {"parcel": numbers})
    text = " ".join(_pages(answer.content))
    assert all(number in text for number in numbers)
    assert "Nowhere Row" in text
    assert "2 Elsewhere" not in text


@pytest.mark.django_db
def test_an_address_abroad_ends_with_the_country_in_capitals(ignatius, rollo):
    AddressFactory(member=rollo, lines="1 Nowhere Row\nPort Nonesuch", country="AU")
    found = listed_round(ignatius)
    wish(found, rollo, 1)
    parcel = parcel_of(announced(found, ignatius), rollo)
    (slip,) = slips_for([parcel], ignatius, with_address={parcel.pk})
    assert [line.text for line in slip.address] == [
        "Rollo Fiddlewick",
        "1 Nowhere Row",
        "Port Nonesuch",
        "AUSTRALIA",
    ]
    assert slip.is_abroad


@pytest.mark.django_db
def test_a_member_without_an_address_is_not_packed_for_blindly(parcel, ignatius, cosmo):
    his = Parcel.objects.get(member=cosmo)
    (slip,) = slips_for([his], ignatius, with_address={his.pk})
    assert slip.address[-1].text == "no address on record"


@pytest.mark.django_db
def test_more_slips_cost_no_more_queries(ignatius, django_assert_max_num_queries):
    found = listed_round(ignatius, stored_lot("Primula a", 9))
    for member in MemberFactory.create_batch(9):
        wish(found, member, 1)
    announced(found, ignatius)
    parcels = list(Parcel.objects.select_related("round", "member", "packer"))
    for some in (parcels[:2], parcels):
        with django_assert_max_num_queries(6):
            slips_for(some, ignatius, with_address={parcel.pk for parcel in some})


@pytest.mark.django_db(transaction=True)
def test_the_command_writes_one_file_a_parcel_and_goes_on_where_it_stopped(
    parcel, tmp_path, capsys
):
    call_command("slips", parcel.round.slug, to=str(tmp_path))
    written = sorted(path.name for path in tmp_path.glob("*.pdf"))
    assert written == sorted(f"{each.number}.pdf" for each in Parcel.objects.all())
    call_command("slips", parcel.round.slug, to=str(tmp_path))
    assert "already" in capsys.readouterr().out


@pytest.mark.django_db
def test_the_command_says_when_there_is_no_such_round(tmp_path):
    with pytest.raises(CommandError, match="no round seed-1066"):
        call_command("slips", "seed-1066", to=str(tmp_path))


def test_forty_packets_stand_in_order_over_the_pages():
    lines = tuple(
        replace(LINE, packet_number=f"S{number:06d}-00", line_number=number)
        for number in range(1, 41)
    )
    texts = _pages(slip_pdf([replace(SLIP, lines=lines)]))
    assert re.findall(r"S\d{6}-00", " ".join(texts)) == [line.packet_number for line in lines]
    assert f"Page {len(texts)} of {len(texts)}" in texts[-1]


def _fonts(pdf: pikepdf.Pdf) -> list[pikepdf.Object]:
    """All fonts of a file that carry a shape, those inside composite fonts too."""
    return [
        each["/FontDescriptor"]
        for each in pdf.objects
        if isinstance(each, pikepdf.Dictionary) and "/FontDescriptor" in each
    ]


@pytest.mark.parametrize(
    "text", ["1 Nowhere Row", "12 שדרות רוטשילד", "شارع النيل", "Ул. Садовая 3"]
)
def test_every_font_is_in_the_file_whatever_the_script(text):
    pdf = _open(slip_pdf([replace(SLIP, address=(AddressLine(text, "ltr"),))]))
    fonts = _fonts(pdf)
    assert fonts
    assert all({"/FontFile", "/FontFile2", "/FontFile3"} & set(font.keys()) for font in fonts)


@pytest.fixture
def inner_network():
    """A server of the inside network; it remembers who called."""
    called = []

    class Listener(http.server.BaseHTTPRequestHandler):
        def do_GET(self):
            called.append(self.path)
            self.send_response(200)
            self.end_headers()

        def log_message(self, *words):
            pass

    server = http.server.HTTPServer(("127.0.0.1", 0), Listener)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}", called
    server.shutdown()
    thread.join()
    server.server_close()


def test_a_document_fetches_nothing_from_the_inside_network_nor_from_the_disk(
    inner_network, tmp_path
):
    """Were a name ever to become markup, it could reach neither a server nor a file."""
    address, called = inner_network
    (tmp_path / "secret.svg").write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    html = (
        "<html lang='en'><head><title>x</title>"
        f"<link rel='stylesheet' href='{address}/a.css'></head>"
        f"<body><img src='{address}/b.png' alt='b'><img src='file://{tmp_path}/secret.svg' alt='c'>"
        f"<p style=\"background: url('{address}/d.png')\">seen</p></body></html>"
    )
    assert "seen" in _pages(render_pdf(html, stylesheet="slip.css"))[0]
    assert called == []
    with urllib.request.urlopen(f"{address}/control") as answer:  # noqa: S310  our own
        assert answer.status == 200
    assert called == ["/control"]
