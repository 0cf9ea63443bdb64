"""The first page says to each what wants doing now."""

import datetime

import pytest

from crosses.actions.capsule import record_check
from seedbank.bank.actions.donation import offer
from seedbank.exchange.actions.picking import take_in_hand
from tests.factories.bank import LotFactory, packets_of
from tests.factories.crosses import make_cross, make_pollination
from tests.factories.exchange import AFTER, announced, listed_round, make_round, parcel_of, wish

pytestmark = pytest.mark.django_db


@pytest.fixture
def home(signed_in):
    return lambda member: signed_in(member).get("/").content.decode()


def flower(grower, at, cross=None, **facts):
    """A flower that has set, so that it waits to be looked at."""
    pollination = make_pollination(grower, cross, **facts)
    record_check(
        pollination=pollination,
        by=grower,
        at=at,
        seen_on=datetime.date(2026, 5, 10),
        kind="swelling",
    )
    return pollination


def test_a_new_member_is_told_how_to_begin(home, tansy):
    page = home(tansy)
    assert "Begin with a plant you keep" in page
    assert "/plants/add/" in page


@pytest.mark.usefixtures("at_noon")
def test_the_bench_is_one_tap_away_with_how_much_waits_on_it(home, tansy, cosmo, at):
    flower(tansy, at)
    assert "1 flower to look at now" in home(tansy)
    assert 'href="/bench/"' in home(tansy)
    assert "to look at now" not in home(cosmo)


@pytest.mark.usefixtures("at_noon")
def test_an_open_round_counts_my_wishes(home, ignatius, tansy, cosmo):
    wish(listed_round(ignatius), tansy, 1)
    assert "Your 1 wish<" in home(tansy)
    assert "You have no wishes yet" in home(cosmo)


@pytest.mark.usefixtures("after_closing")
def test_an_announced_round_leads_to_the_result_and_names_only_ones_own_parcel(
    home, ignatius, tansy, cosmo
):
    found = listed_round(ignatius)
    wish(found, tansy, 1)
    announced(found, ignatius)
    number = parcel_of(found, tansy).number
    assert number in home(tansy)
    assert number not in home(cosmo)
    assert "What you were given, and why" in home(cosmo)


@pytest.mark.usefixtures("at_noon")
def test_the_keeper_sees_how_many_donations_wait_and_a_member_does_not(home, tansy, ignatius, at):
    lots = [LotFactory(raised_by=tansy) for _ in range(2)]
    for lot in lots:
        packets_of(lot)
    # Two lots in one envelope are one donation.
    offer(donor=tansy, by=tansy, at=at, lines=[(lot, 1) for lot in lots])
    assert "1 donation to take in" in home(ignatius)
    assert "to take in" not in home(tansy)


@pytest.mark.parametrize(
    ("stage", "words"),
    [
        (make_round, "Make the list and publish it"),
        (listed_round, "See what would be short"),
    ],
)
@pytest.mark.usefixtures("at_noon")
def test_the_keeper_reads_what_to_do_next_with_the_round(home, ignatius, tansy, stage, words):
    stage(ignatius)
    assert words in home(ignatius)
    assert words not in home(tansy)


@pytest.mark.usefixtures("after_closing")
def test_when_wishes_have_closed_the_keeper_shares_out(home, ignatius):
    listed_round(ignatius)
    assert "<b>Share out</b>" in home(ignatius)


@pytest.mark.usefixtures("after_closing")
def test_a_packer_goes_on_with_the_parcel_in_hand(home, ignatius, tansy, hettie):
    found = listed_round(ignatius)
    wish(found, tansy, 1)
    assert "packets</b> are packed" not in home(hettie)
    announced(found, ignatius)
    parcel = take_in_hand(parcel=parcel_of(found, tansy), by=hettie, at=AFTER)
    page = home(hettie)
    assert "0 of 1 packets" in page
    assert f"/parcels/{parcel.number}/" in page


@pytest.mark.usefixtures("at_noon")
def test_home_costs_no_more_for_more_that_waits(
    tansy, at, signed_in, django_assert_max_num_queries
):
    cross = make_cross(tansy)
    client = signed_in(tansy)

    def queries() -> int:
        client.get("/")
        with django_assert_max_num_queries(60) as seen:
            client.get("/")
        return len(seen)

    flower(tansy, at, cross)
    few = queries()
    for _ in range(3):
        flower(tansy, at, cross)
    assert queries() <= few


def test_the_menu_marks_where_one_is(signed_in, tansy):
    page = signed_in(tansy).get("/plants/add/").content.decode()
    assert '<a href="/plants/" aria-current="true">' in page
    assert page.count("aria-current") == 1
    assert '<a href="/plants/" aria-current="page">' in (
        signed_in(tansy).get("/plants/").content.decode()
    )


def test_the_menu_holds_what_ones_role_opens(home, tansy, ignatius, hettie):
    assert 'href="/packing/"' not in home(tansy)
    assert 'href="/packing/"' in home(hettie)
    assert 'href="/donations/">Donations' in home(ignatius)
