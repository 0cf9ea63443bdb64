"""The slip's code: its holder reports what came up, of that parcel only, and learns of nobody."""

import datetime
import uuid

import pytest
from django.test import Client

from crosses.base.refusal import Refused
from seedbank.bank.models import Packet
from seedbank.exchange.access import report_path
from seedbank.exchange.actions.coming_back import MOST_AN_HOUR, report_germination, stop_reports
from seedbank.exchange.actions.picking import scan, take_in_hand
from seedbank.exchange.actions.posting import close_parcel, post_parcel
from seedbank.exchange.models import ParcelItem
from seedbank.exchange.queries.coming_back import MOST_REPORTS_A_PACKET, OPEN_FOR
from seedbank.sowings.models import Count, Sowing
from seedbank.sowings.queries import germination_of_lots
from tests.factories.exchange import AFTER, announced, listed_round, parcel_of, stored_lot, wish
from tests.factories.members import AddressFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("after_closing")]

SOWN = AFTER.date()
LATER = AFTER + datetime.timedelta(days=30)


def _posted(found, member, packer):
    parcel = take_in_hand(parcel=parcel_of(found, member), by=packer, at=AFTER)
    for item in ParcelItem.objects.filter(parcel=parcel):
        scan(parcel=parcel, number=item.packet.number, by=packer, at=AFTER)
    close_parcel(parcel=parcel, by=packer, at=AFTER)
    return post_parcel(parcel=parcel, by=packer, at=AFTER, posted_on=AFTER.date())


@pytest.fixture
def found(ignatius, tansy, cosmo):
    AddressFactory(member=tansy, lines="1 Nowhere Row")
    found = listed_round(ignatius, stored_lot("Primula veris", 2), stored_lot("Primula elatior", 2))
    for member in (tansy, cosmo):
        wish(found, member, 1, 2)
    return announced(found, ignatius)


@pytest.fixture
def parcel(found, tansy, hettie):
    return _posted(found, tansy, hettie)


@pytest.fixture
def packet(parcel) -> Packet:
    return ParcelItem.objects.filter(parcel=parcel).first().packet


def _report(parcel, packet, **told):
    at = told.pop("at", LATER)
    facts = {"sown_on": SOWN, "seeds_sown": 20, "came_up": 7, "counted_on": LATER.date()} | told
    return report_germination(parcel=parcel, at=at, packet=packet.number, **facts)


def test_a_report_is_a_sowing_and_a_count_of_the_lot_marked_as_a_recipients(
    parcel, packet, tansy, ignatius, signed_in
):
    _report(parcel, packet)
    sowing = Sowing.objects.get()
    assert (sowing.is_recipients_report, sowing.grower, sowing.seeds_sown) == (True, tansy, 20)
    share = germination_of_lots([packet.lot_id], ignatius)[packet.lot_id]
    assert (share.x, share.n) == (7, 20)
    packet.refresh_from_db()
    assert (packet.state, packet.seeds_left) == ("sent", 5)
    for page in (f"/sowings/{sowing.number}/", f"/packets/{packet.number}/"):
        assert "through the code on the" in signed_in(ignatius).get(page).content.decode()


def test_a_later_report_counts_on_the_same_sowing(parcel, packet):
    _report(parcel, packet)
    _report(
        parcel,
        packet,
        came_up=9,
        counted_on=LATER.date() + datetime.timedelta(days=5),
        at=LATER + datetime.timedelta(days=5),
    )
    assert [count.newly_seen for count in Count.objects.order_by("counted_on")] == [7, 2]
    assert Sowing.objects.count() == 1


def test_a_report_that_contradicts_the_one_before_is_told_so(parcel, packet):
    _report(parcel, packet)
    with pytest.raises(Refused, match="You told of 20 seeds"):
        _report(parcel, packet, seeds_sown=25)


def test_none_came_up_is_a_report(parcel, packet):
    assert _report(parcel, packet, came_up=0).newly_seen == 0


def test_a_double_tap_makes_one_record(parcel, packet):
    key = uuid.uuid4()
    assert _report(parcel, packet, client_key=key) == _report(parcel, packet, client_key=key)
    assert (Sowing.objects.count(), Count.objects.count()) == (1, 1)


def test_a_packet_of_another_parcel_is_refused(parcel, found, cosmo):
    other = ParcelItem.objects.get(parcel=parcel_of(found, cosmo), line__line_number=1).packet
    with pytest.raises(Refused, match="not of this parcel"):
        _report(parcel, other)


def test_nothing_is_reported_before_posting_after_two_years_or_once_shut(
    parcel, packet, found, cosmo, tansy
):
    with pytest.raises(Refused, match="not on its way yet"):
        _report(parcel_of(found, cosmo), packet)
    too_late = AFTER + OPEN_FOR + datetime.timedelta(days=1)
    with pytest.raises(Refused, match="run out"):
        _report(parcel, packet, at=too_late)
    stop_reports(parcel=parcel, by=tansy, at=LATER)
    with pytest.raises(Refused, match="has been shut"):
        _report(parcel, packet)


def test_a_packet_takes_so_many_reports_and_no_more(parcel, packet):
    for day in range(MOST_REPORTS_A_PACKET):
        at = LATER + datetime.timedelta(days=day)
        _report(parcel, packet, at=at, counted_on=at.date())
    with pytest.raises(Refused, match="all the reports its code takes"):
        _report(parcel, packet, at=LATER + datetime.timedelta(days=20))


def test_too_many_in_an_hour_are_refused_also_if_none_of_them_is_right(parcel, packet, cosmo):
    wrong = Packet.objects.exclude(promises__parcel=parcel).first()
    for _ in range(MOST_AN_HOUR):
        with pytest.raises(Refused, match="not of this parcel"):
            _report(parcel, wrong)
    with pytest.raises(Refused, match="a lot of reports"):
        _report(parcel, packet)


def test_the_page_opens_without_an_account_and_names_nobody(parcel, packet, time_machine):
    time_machine.move_to(LATER, tick=False)
    path = report_path(parcel.number)
    client = Client()
    answer = client.get(path)
    page = answer.content.decode()
    assert packet.number in page
    for private in ("Tansy", "Nowhere Row", "Cosmo", "@example.org"):
        assert private not in page
    assert answer.headers["X-Robots-Tag"] == "noindex"
    assert "no-store" in answer.headers["Cache-Control"]
    typed = {
        "packet": packet.number,
        "sown_on": SOWN,
        "seeds_sown": 20,
        "came_up": 21,
        "counted_on": LATER.date(),
    }
    refused = client.post(path, typed)
    assert refused.context["form"].errors
    assert "Thank you." in client.post(path, typed | {"came_up": 7}, follow=True).content.decode()
    assert "7 of 20 came up so far" in client.get(path).content.decode()


def test_a_code_of_another_parcel_or_a_guessed_one_opens_nothing(parcel, found, cosmo):
    other = parcel_of(found, cosmo).number
    signature = report_path(parcel.number).split("/")[3]
    for path in (f"/r/{other}/{signature}/", f"/r/{parcel.number}/AAAAAAAAAAAAAAAA/"):
        assert Client().get(path).status_code == 404


def test_member_and_keeper_shut_the_page_and_nobody_else(
    parcel, tansy, ignatius, hettie, cosmo, signed_in
):
    stop = f"/parcels/{parcel.number}/reports/stop/"
    assert signed_in(hettie).post(stop).status_code == 403
    assert signed_in(cosmo).post(stop).status_code == 404
    assert "Shut the page" in signed_in(tansy).get(f"/parcels/{parcel.number}/").content.decode()
    signed_in(ignatius).post(stop)
    parcel.refresh_from_db()
    assert parcel.report_stopped_by == ignatius
    assert "has been shut" in Client().get(report_path(parcel.number)).content.decode()
