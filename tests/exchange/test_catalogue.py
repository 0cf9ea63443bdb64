"""The printed list: the same for every reader, in the order of its numbers, read back from the PDF."""

import io
import re

import pypdf
import pytest

from crosses.base.visibility import Visibility
from crosses.models import DestinationFlag
from seedbank.exchange.actions.listing import withdraw_line
from seedbank.exchange.catalogue import catalogue_html, lay_out_catalogue
from seedbank.exchange.queries.catalogue import catalogue_of
from seedbank.jobs.models import Job
from seedbank.jobs.running import run_waiting_jobs
from tests.conftest import NOON, TODAY
from tests.factories.exchange import line, listed_round, make_round, stored_lot
from tests.factories.sowings import counted_sowing

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon", "own_folder")]


@pytest.fixture
def own_folder(settings, tmp_path, monkeypatch):
    settings.VAR_DIR = tmp_path
    monkeypatch.setattr("seedbank.jobs.actions.call_worker", lambda at: None)


@pytest.fixture
def found(ignatius, tansy):
    lots = [
        stored_lot("Primula veris", hazard_note="Its hairs irritate."),
        stored_lot(
            "Lewisia cotyledon <script>", origin="wild", wild_country="GB", wild_permit="N7"
        ),
        stored_lot("Primula elatior"),
    ]
    return listed_round(
        ignatius,
        *lots,
        price_text="5 pounds a parcel",
        country_allowances={"AU": 8},
        rules_text="One parcel each.",
    )


def text_of(found):
    pdf = lay_out_catalogue(catalogue_html(catalogue_of(found, 2026)), found.slug)
    reader = pypdf.PdfReader(pdf)
    text = " ".join(page.extract_text() for page in reader.pages)
    return reader, re.sub(r"\s+", " ", text)


def test_the_lines_stand_under_their_genus_in_the_order_of_their_numbers(found):
    reader, text = text_of(found)
    places = [text.index(words) for words in ("Lewisia", "1 Lewisia", "2 Primula", "3 Primula")]
    assert places == sorted(places)
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.metadata.title.startswith("Seed list of Seed exchange 2026")


def test_it_says_how_to_ask_what_may_be_had_and_what_it_costs(found):
    _reader, text = text_of(found)
    for words in (
        "How to ask for seed",
        "20 packets; in Australia 8, one of a line at most",
        "5 pounds a parcel",
        "One parcel each.",
        "Caution. Its hairs irritate.",
        "Collected in the wild, United Kingdom; permit N7",
        "Lewisia cotyledon <script>",
    ):
        assert words in text
    # The address may be broken at the end of a line.
    assert "/rounds/seed-2026/wishes/" in text.replace(" ", "")


def test_it_says_for_each_line_where_it_may_not_go(found, rollo):
    DestinationFlag.objects.create(
        genus="Lewisia", country="AU", kind="barred", words="not wanted",
        source="invented", checked_on=TODAY, checked_by="S.U.",
    )  # fmt: skip
    _reader, text = text_of(found)
    assert text.count("Not to be sent to Australia.") == 1


def test_a_withdrawn_line_stays_with_its_reason(found, ignatius):
    withdraw_line(line=line(found, 2), by=ignatius, at=NOON, reason="mouldy")
    assert "Withdrawn. mouldy" in text_of(found)[1]


def test_germination_is_what_everybody_may_see(found, tansy):
    lots = [line(found, number).lot for number in (2, 3)]
    for lot, visibility in zip(lots, (Visibility.SOCIETY, Visibility.ME), strict=True):
        lot.owner = tansy
        lot.save()
        counted_sowing(tansy, 10, 20, lot=lot, visibility=visibility)
    _lewisia, primula = catalogue_of(found, 2026).genera
    assert [each.germination is not None for each in primula.lines] == [True, False]


def test_the_first_who_asks_waits_for_it_and_the_next_has_it_at_once(
    found, tansy, cosmo, signed_in
):
    address = f"/rounds/{found.slug}/list.pdf"
    answer = signed_in(tansy).post(address)
    job = Job.objects.get()
    assert answer.url == f"/jobs/{job.pk}/"
    run_waiting_jobs()
    job.refresh_from_db()
    assert job.message == "3 lines are laid out."
    answer = signed_in(cosmo).post(address)
    assert pypdf.PdfReader(io.BytesIO(b"".join(answer.streaming_content))).pages
    # What has changed is laid out anew.
    line_one = line(found, 1)
    line_one.description = "from the rock garden"
    line_one.save()
    assert signed_in(cosmo).post(address).status_code == 302


def test_nobody_prints_a_list_before_it_opens(ignatius, tansy, signed_in):
    make_round(ignatius)
    assert signed_in(tansy).post("/rounds/seed-2026/list.pdf").status_code == 403
    assert not Job.objects.exists()


def test_a_longer_list_costs_no_more_queries(found, ignatius, django_assert_max_num_queries):
    lots = [stored_lot(f"Primula {letter}") for letter in "abcdefgh"]
    longer = listed_round(ignatius, *lots, slug="longer")
    for each in (found, longer):
        with django_assert_max_num_queries(14):
            catalogue_of(each, 2026)
