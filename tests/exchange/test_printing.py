"""Papers of many parcels: as work in the background, by the rules of who sees an address."""

import io
import zipfile

import pypdf
import pytest

from seedbank.exchange.actions.customs import weigh_parcel
from seedbank.exchange.actions.picking import scan, take_in_hand
from seedbank.exchange.actions.posting import close_parcel, post_parcel
from seedbank.exchange.models import CustomsWords, Parcel, ParcelItem
from seedbank.jobs.files import folder_of, result_path
from seedbank.jobs.models import Job
from seedbank.jobs.running import run_waiting_jobs
from tests.factories.bank import PlaceFactory, packets_of
from tests.factories.exchange import AFTER, announced, listed_round, parcel_of, stored_lot, wish
from tests.factories.members import AddressFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("after_closing")]


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.VAR_DIR = tmp_path


@pytest.fixture
def found(ignatius, tansy, cosmo, rollo):
    """Three parcels: Tansy's, Cosmo's, and Rollo's, which goes abroad."""
    AddressFactory(member=tansy, lines="1 Nowhere Row")
    AddressFactory(member=cosmo, lines="2 Elsewhere")
    AddressFactory(member=rollo, lines="3 Yonder\nPort Nonesuch", country="AU")
    late = stored_lot("Primula veris", packets=0)
    packets_of(late, 3, place=PlaceFactory(code="Z-9", walk_order=9))
    early = stored_lot("Lewisia cotyledon", packets=0)
    packets_of(early, 3, place=PlaceFactory(code="A-1", walk_order=1))
    found = listed_round(ignatius, late, early)
    for member in (tansy, cosmo, rollo):
        wish(found, member, 1, 2)
    return announced(found, ignatius)


@pytest.fixture
def packer(hettie, found, tansy, signed_in):
    """Hettie's browser; she has Tansy's parcel in hand."""
    take_in_hand(parcel=parcel_of(found, tansy), by=hettie, at=AFTER)
    return signed_in(hettie)


def _words(pdf: bytes) -> str:
    return " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def _printed(client, **typed) -> Job:
    client.post("/packing/print/?round=seed-2026", {"what": "slips", "shape": "one", **typed})
    run_waiting_jobs()
    return Job.objects.get()


def test_the_slips_of_a_round_are_one_file_in_order_with_the_addresses_one_may_see(packer):
    job = _printed(packer)
    assert (job.state, job.message, job.title) == (
        "finished",
        "3 parcels printed.",
        "Packing slips of 3 parcels",
    )
    words = _words(b"".join(packer.get(f"/jobs/{job.pk}/file/").streaming_content))
    assert "Nowhere Row" in words
    assert "Elsewhere" not in words
    at = [words.index(number) for number in Parcel.objects.values_list("number", flat=True)]
    assert at == sorted(at)


def test_one_file_a_parcel_comes_in_a_folder_and_each_keeps_its_tags(packer, ignatius, signed_in):
    keeper = signed_in(ignatius)
    job = _printed(keeper, shape="each")
    folder = zipfile.ZipFile(result_path(job))
    numbers = sorted(Parcel.objects.values_list("number", flat=True))
    assert folder.namelist() == [f"{number}.pdf" for number in numbers]
    for name in folder.namelist():
        assert pypdf.PdfReader(io.BytesIO(folder.read(name))).trailer["/Root"]["/MarkInfo"][
            "/Marked"
        ]
    assert "Elsewhere" in " ".join(_words(folder.read(name)) for name in folder.namelist())


def test_what_is_printed_already_is_not_printed_again(packer, found, tansy):
    packer.post("/packing/print/?round=seed-2026", {"what": "slips", "shape": "each"})
    job = Job.objects.get()
    pieces = folder_of(job) / "pieces"
    pieces.mkdir(parents=True)
    there = pieces / f"{parcel_of(found, tansy).number}.pdf"
    there.write_bytes(b"as it was before the kill")
    run_waiting_jobs()
    job.refresh_from_db()
    assert job.done == job.total == 4
    assert zipfile.ZipFile(result_path(job)).read(there.name) == b"as it was before the kill"


def test_customs_papers_are_for_parcels_abroad_only(packer, rollo, found):
    job = _printed(packer, what="customs")
    assert job.message == "1 parcel printed."
    words = _words(result_path(job).read_bytes())
    assert parcel_of(found, rollo).number in words
    assert "full botanical names on each" in words


def test_where_no_parcel_leaves_the_country_the_job_says_so(packer, found, tansy):
    number = parcel_of(found, tansy).number
    packer.post(f"/packing/print/?parcel={number}", {"what": "customs", "shape": "one"})
    run_waiting_jobs()
    assert Job.objects.get().message == "None of these parcels needs such a paper."


def test_two_taps_print_once_and_no_choice_prints_nothing(packer, tansy, signed_in):
    key = "0b8f0ef0-0000-4000-8000-000000000001"
    for _tap in range(2):
        _printed(packer, client_key=key)
    packer.post("/packing/print/", {"what": "slips", "shape": "one"})
    assert Job.objects.count() == 1
    assert signed_in(tansy).get("/packing/print/?round=seed-2026").status_code == 403


def test_address_labels_are_for_the_parcels_in_hand_and_not_for_posted_ones(
    packer, hettie, found, tansy
):
    sheet = {"round": "seed-2026", "sheet": "24 of 70 × 37 mm", "start_at": 24}
    assert (
        "of 3 parcels chosen" in packer.get("/packing/addresses/?round=seed-2026").content.decode()
    )
    pdf = packer.get("/packing/addresses/", sheet).content
    assert "Nowhere Row" in _words(pdf)
    assert "Elsewhere" not in _words(pdf)
    assert len(pypdf.PdfReader(io.BytesIO(pdf)).pages) == 1
    parcel = parcel_of(found, tansy)
    for item in ParcelItem.objects.filter(parcel=parcel):
        scan(parcel=parcel, number=item.packet.number, by=hettie, at=AFTER)
    close_parcel(parcel=parcel, by=hettie, at=AFTER)
    post_parcel(parcel=parcel, by=hettie, at=AFTER, posted_on=AFTER.date())
    page = packer.get("/packing/addresses/", sheet).content.decode()
    assert "None of these parcels is in your hand" in page


def test_address_labels_begin_at_a_free_place_and_go_on_over_the_sheet(packer, ignatius, signed_in):
    """Three labels from place 23 of 24: two on the first sheet, one on the next."""
    sheet = {"round": "seed-2026", "sheet": "24 of 70 × 37 mm", "start_at": 23}
    pdf = signed_in(ignatius).get("/packing/addresses/", sheet).content
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]
    assert [text.count("R0000") for text in pages] == [2, 1]
    assert "AUSTRALIA" in " ".join(pages)


def test_the_pick_list_of_many_parcels_is_printed_in_the_order_of_the_walk(packer):
    words = _words(packer.get("/packing/pick/?round=seed-2026&pdf=1").content)
    assert "6 packets for 3 parcels" in words
    assert [word for word in words.split() if word in {"A-1", "Z-9"}] == ["A-1"] * 3 + ["Z-9"] * 3


def test_the_customs_contents_say_what_how_many_how_heavy_and_what_it_is_worth(
    packer, ignatius, rollo, found, signed_in
):
    parcel, keeper = parcel_of(found, rollo), signed_in(ignatius)
    page = f"/parcels/{parcel.number}/customs/"
    assert "not weighed yet" in keeper.get(page).content.decode()
    assert "________ g" in _words(keeper.get(f"/parcels/{parcel.number}/customs.pdf").content)
    keeper.post(page, {"weight_grams": 64})
    words = _words(keeper.get(f"/parcels/{parcel.number}/customs.pdf").content)
    for said in ("2 packets", "64 g", "1.00 GBP", "Port Nonesuch", "full parentage"):
        assert said in words
    assert words.index("Lewisia") < words.index("Primula")


def test_only_who_has_the_parcel_in_hand_weighs_it(packer, rollo, found):
    parcel = parcel_of(found, rollo)
    page = packer.post(f"/parcels/{parcel.number}/customs/", {"weight_grams": 64})
    assert "Take the parcel in hand first." in page.content.decode()
    assert "Yonder" not in _words(packer.get(f"/parcels/{parcel.number}/customs.pdf").content)


def test_the_keeper_changes_the_words_of_a_country_and_the_old_ones_are_kept(
    ignatius, hettie, signed_in
):
    words = CustomsWords.objects.get(country="AU")
    typed = {
        "country": "AU",
        "contents": "{packets} packets of seed",
        "ticked": "other",
        "value_per_packet": "0",
        "currency": "gbp",
        "source": "invented",
        "checked_on": "2026-05-20",
        "checked_by": "S. Umbrage",
        "why": "as the post office asked",
    }
    assert signed_in(hettie).post(f"/customs/{words.pk}/", typed).status_code == 403
    signed_in(ignatius).post(f"/customs/{words.pk}/", typed)
    words.refresh_from_db()
    assert (words.contents, words.currency) == ("{packets} packets of seed", "GBP")
    assert words.history.count() == 2
    again = signed_in(ignatius).post("/customs/add/", typed)
    assert "There are words for Australia already." in again.content.decode()


def test_a_posted_parcel_is_not_weighed_anew(packer, hettie, found, tansy):
    parcel = parcel_of(found, tansy)
    Parcel.objects.filter(pk=parcel.pk).update(closed_at=AFTER, posted_on=AFTER.date())
    from crosses.base.refusal import Refused

    with pytest.raises(Refused, match="already"):
        weigh_parcel(parcel=parcel, by=hettie, weight_grams=3)


def test_the_board_counts_for_everybody_who_packs(packer, hettie, found, tansy):
    parcel = parcel_of(found, tansy)
    item = ParcelItem.objects.filter(parcel=parcel).first()
    scan(parcel=parcel, number=item.packet.number, by=hettie, at=AFTER)
    page = packer.get("/packing/").content.decode()
    assert "<b>1 of 6 packets</b> are packed; 1 parcel in hand" in page
    assert "<b>Hettie Quagmire</b> 1 packet, 1 parcel" in page
    assert 'data-refresh-seconds="5"' in page
