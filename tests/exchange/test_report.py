"""The year's report: figures reckoned by hand beside those of the page, and nobody named."""

import csv
import datetime
import io

import pypdf
import pytest

from seedbank.exchange.models import Parcel, ParcelItem
from seedbank.exchange.queries.report import report_of
from seedbank.sowings.models import Sowing
from tests.conftest import NOON
from tests.factories.bank import DonationFactory, DonationLineFactory
from tests.factories.exchange import AFTER, announced, listed_round, make_round, stored_lot, wish
from tests.factories.members import MemberFactory
from tests.factories.sowings import counted_sowing

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def people():
    return MemberFactory.create_batch(4, country="GB")


@pytest.fixture
def found(ignatius, rollo, people):
    """By number Lewisia c and Primula b have two packets, Primula a one; two packets a member.

    Four members at home and Rollo in Australia all want line 2, Primula a, most, and line 3 next:
    of 10 wishes 3 are met, one first choice and two second choices.
    """
    lots = [stored_lot("Primula a", 1), stored_lot("Primula b", 2), stored_lot("Lewisia c", 2)]
    found = listed_round(ignatius, *lots, allowance=2)
    for member in people:
        wish(found, member, 2, 3)
    wish(found, rollo, 2, 3)
    return found


def figures(found):
    return {
        figure.label: figure for section in report_of(found).sections for figure in section.figures
    }


def values(found):
    return {label: figure.value for label, figure in figures(found).items()}


def test_what_was_asked_for_and_what_was_given(found, ignatius):
    announced(found, ignatius)
    told = values(found)
    assert (told["Lines"], told["Genera"]) == ("3", "2")
    assert (told["Members who asked"], told["Wishes"], told["Wishes a member"]) == (
        "5",
        "10",
        "2.0",
    )
    # Line 2 is Primula a with one packet, line 3 Primula b with two: three of the 10 allowed.
    assert told["Packets shared out"] == "3"
    assert told["Allowances filled"] == "3 of 10, 30 %"
    assert told["Members without a packet"] == "2"


def test_the_chart_of_choices_counts_wishes_met_by_their_place(found, ignatius):
    announced(found, ignatius)
    assert report_of(found).choices.table_rows == (
        ("first choice", "1", "5", "20 %"),
        ("second choice", "2", "5", "40 %"),
    )


def test_a_country_from_which_few_asked_is_not_named(found, ignatius, rollo):
    announced(found, ignatius)
    rows = report_of(found).countries.table_rows
    assert sum(int(row[2]) for row in rows) == 3
    assert {row[0] for row in rows} <= {"United Kingdom", "other countries"}


def test_donors_and_lots_are_those_of_the_year_before(found, ignatius, cosmo):
    donation = DonationFactory(donor=cosmo, offered_at=found.list_opens_at)
    facts = {"donation": donation, "answered_at": NOON}
    DonationLineFactory.create_batch(2, answer="accepted", packets_received=5, **facts)
    DonationLineFactory(answer="declined", declined_reason="mouldy", **facts)
    told = values(found)
    assert (told["Donors"], told["Lots accepted"], told["Lots declined"]) == ("1", "2", "1")
    assert told["Packets accepted"] == "10"


def test_hours_in_hand_count_an_hour_a_parcel_at_most(found, ignatius, hettie):
    announced(found, ignatius)
    assert values(found)["Packers' hours"] == "not known"
    minutes = [30, 600, 15]
    for parcel, long in zip(Parcel.objects.all(), minutes, strict=True):
        parcel.packer, parcel.taken_at = hettie, AFTER
        parcel.closed_at = AFTER + datetime.timedelta(minutes=long)
        parcel.save()
    hours = figures(found)["Packers' hours"]
    # 30 + 60 + 15 minutes.
    assert hours.value == "1.8"
    assert "3 parcels" in hours.basis
    assert "within 30 minutes" in hours.basis


def _posted_and_sown(found, ignatius, growers):
    """Post every parcel, and let some of the packets be sown and counted: 10 of 20 each time."""
    announced(found, ignatius)
    Parcel.objects.update(closed_at=AFTER, posted_on=AFTER.date())
    for item in ParcelItem.objects.all()[:growers]:
        sowing = counted_sowing(ignatius, 10, 20)
        Sowing.objects.filter(pk=sowing.pk).update(packet=item.packet, grower=item.parcel.member)


@pytest.mark.parametrize(
    ("growers", "came_up"), [(0, "not told yet"), (2, "not told yet"), (3, "30 of 60")]
)
def test_germination_is_told_in_sum_from_three_growers_on(growers, came_up, found, ignatius):
    _posted_and_sown(found, ignatius, growers)
    told = values(found)
    assert told["Packets posted"] == "3"
    assert told["Came up"].startswith(came_up)
    assert told["Sowings counted"] == str(growers)


def test_the_pages_name_nobody(found, ignatius, people, rollo, cosmo, signed_in):
    DonationLineFactory(
        donation__donor=cosmo, donation__offered_at=found.list_opens_at,
        answer="accepted", answered_at=NOON, packets_received=1,
    )  # fmt: skip
    announced(found, ignatius)
    client = signed_in(ignatius)
    page = client.get(f"/rounds/{found.slug}/report/").content.decode().partition("<main")[2]
    table = b"".join(client.get(f"/rounds/{found.slug}/report.csv").streaming_content).decode()
    reader = pypdf.PdfReader(io.BytesIO(client.get(f"/rounds/{found.slug}/report.pdf").content))
    paper = " ".join(one.extract_text() for one in reader.pages)
    for text in (page, table, paper):
        assert "30 %" in text
        assert not [one for one in (*people, rollo, cosmo, ignatius) if one.name in text]
        assert "Australia" not in text
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]


def test_the_table_holds_every_figure_of_the_page_and_of_the_charts(found, ignatius, signed_in):
    announced(found, ignatius)
    answer = signed_in(ignatius).get(f"/rounds/{found.slug}/report.csv")
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    rows = {(row["part"], row["what"]): row["figure"] for row in csv.DictReader(io.StringIO(text))}
    assert rows["Shared out", "Allowances filled"] == "3 of 10, 30 %"
    assert rows["Choices met", "second choice"] == "2 of 5"
    assert rows["Beside other rounds", "Seed exchange 2026"] == "3 lines"


def test_a_round_of_which_nothing_is_known_yet_has_a_report_all_the_same(ignatius, signed_in):
    found = make_round(ignatius)
    page = signed_in(ignatius).get(f"/rounds/{found.slug}/report/")
    assert "these are the figures so far" in page.content.decode()
    assert signed_in(ignatius).get(f"/rounds/{found.slug}/report.pdf").status_code == 200


def test_the_report_is_the_keepers_to_lay_before_the_society(found, tansy, hettie, signed_in):
    for other in (tansy, hettie):
        for page in ("report/", "report.csv", "report.pdf"):
            assert signed_in(other).get(f"/rounds/{found.slug}/{page}").status_code == 403


def test_more_wishes_and_parcels_cost_no_more_queries(
    ignatius, people, rollo, django_assert_max_num_queries
):
    for members, slug in ((people[:1], "small"), ([*people, rollo], "large")):
        lots = [stored_lot("Primula a", 9) for _lot in members]
        found = listed_round(ignatius, *lots, slug=slug)
        for member in members:
            wish(found, member, *range(1, len(lots) + 1))
        announced(found, ignatius)
        with django_assert_max_num_queries(22):
            report_of(found)
