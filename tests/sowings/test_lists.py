"""The list of sowings, and one sowing's page: what is shown to whom, at what cost."""

import datetime

import pytest

from seedbank.sowings.actions.count import withdraw_count
from seedbank.sowings.actions.sowing import close_sowing, withdraw_sowing
from seedbank.sowings.models import Pretreatment
from seedbank.sowings.queries.pages import counts_due
from tests.conftest import TODAY
from tests.factories.sowings import count_pot, counted_sowing, make_sowing, packet_in_hand, pot_of

pytestmark = pytest.mark.django_db


def test_one_sees_ones_own_first_and_the_societys_if_asked(tansy, cosmo, at, signed_in):
    own, theirs = counted_sowing(tansy, 4, 24), counted_sowing(cosmo, 18, 20)
    hidden = make_sowing(cosmo, visibility="me")
    gone = make_sowing(tansy)
    withdraw_sowing(sowing=gone, by=tansy, at=at, reason="written twice")
    mine = signed_in(tansy).get("/sowings/").text
    everybodys = signed_in(tansy).get("/sowings/", {"whose": "all"}).text
    assert (own.number in mine, theirs.number in mine) == (True, False)
    assert (own.number in everybodys, theirs.number in everybodys) == (True, True)
    for sowing in (hidden, gone):
        assert sowing.number not in mine + everybodys
    # jobmap of the demo, checked against Wilson's formula: 4/24 = 17 % (7-36), 18/20 = 90 % (70-97).
    assert "7–36 %, 4 of 24 seeds" in everybodys
    assert "70–97 %, 18 of 20 seeds" in everybodys


def test_not_looked_at_is_not_none_came(tansy, at, signed_in):
    make_sowing(tansy)
    page = signed_in(tansy).get("/sowings/").text
    assert "nobody looked yet" in page
    assert "<b>0 %</b>" not in page
    sowing = make_sowing(tansy, packet_in_hand(tansy, seeds=10))
    count = count_pot(pot_of(sowing), 10, 0)
    # Wilson for 0 of 10: 0 to 28 %.
    assert "0–28 %, 0 of 10 seeds" in signed_in(tansy).get("/sowings/").text
    withdraw_count(count=count, by=tansy, at=at, reason="wrong pot")
    assert "0 of 10 seeds" not in signed_in(tansy).get("/sowings/").text


def test_open_ones_come_first_and_can_be_asked_for_alone(tansy, at, signed_in):
    closed = make_sowing(tansy, sown_on=TODAY - datetime.timedelta(days=1))
    close_sowing(sowing=closed, by=tansy, at=at, closed_on=TODAY)
    still = make_sowing(tansy)
    page = signed_in(tansy).get("/sowings/").text
    assert page.index(still.number) < page.index(closed.number)
    assert closed.number not in signed_in(tansy).get("/sowings/", {"state": "open"}).text


def test_without_sowings_the_page_says_what_to_do(tansy, signed_in):
    assert "You have sown nothing yet" in signed_in(tansy).get("/sowings/").text
    assert "Nobody has sown anything" in signed_in(tansy).get("/sowings/?whose=all").text


def test_pots_unseen_for_a_week_are_due(tansy):
    sowing = make_sowing(
        tansy, packet_in_hand(tansy, seeds=30), seeds_sown=30, replicate_seeds=[10, 10, 10]
    )
    make_sowing(tansy, sown_on=TODAY - datetime.timedelta(days=6))
    assert counts_due(tansy, TODAY) == 3
    days = (TODAY - sowing.sown_on).days
    count_pot(pot_of(sowing, 1), days - 7, 0)
    count_pot(pot_of(sowing, 2), days - 6, 0)
    assert counts_due(tansy, TODAY) == 2


@pytest.mark.parametrize("path", ["/sowings/", "/sowings/?whose=all"])
def test_more_sowings_cost_no_more_queries(tansy, path, signed_in, django_assert_max_num_queries):
    client = signed_in(tansy)
    for _ in range(2):
        for _ in range(6):
            counted_sowing(tansy, 4, 24)
        with django_assert_max_num_queries(9):
            client.get(path)


# One sowing's page


def test_a_page_of_a_sowing_says_how_it_was_sown_and_what_came(tansy, signed_in):
    sowing = make_sowing(
        tansy,
        packet_in_hand(tansy, seeds=100),
        seeds_sown=100,
        replicate_seeds=[50, 50],
        where="cold frame",
        temperature_low_celsius=10,
        temperature_high_celsius=15,
        pretreatments=[
            Pretreatment(kind="cold", days=28, temperature_celsius=4),
            Pretreatment(kind="gibberellic_acid", concentration_ppm=200),
        ],
    )
    for position, day, number in [(1, 10, 20), (2, 10, 15), (1, 20, 10), (2, 20, 16)]:
        count_pot(pot_of(sowing, position), day, number)
    page = signed_in(tansy).get(f"/sowings/{sowing.number}/").text
    for words in (
        "100 seeds in 2 pots",
        "cold frame",
        "10.0 to 15.0 °C",
        "cold and moist, 28 days at 4 °C; then gibberellic acid, 200 ppm",
        "61 of 100 seeds",
        "Maguire 1962",
        "Between the pots",
    ):
        assert words in page
    # What is drawn can be read without the drawing.
    assert "<svg" in page
    assert "The same as a table" in page


def test_what_has_no_value_is_said_to_have_none(tansy, signed_in):
    sowing = counted_sowing(tansy, 0, 20)
    page = signed_in(tansy).get(f"/sowings/{sowing.number}/").text
    assert "not reached" in page.split("Half of all seeds, day")[1].split("</tr>")[0]
    for name in ("Median time, days", "Coefficient of velocity", "Synchrony"):
        assert "none" in page.split(name)[1].split("</tr>")[0]


def test_a_withdrawn_count_is_neither_shown_nor_counted(tansy, at, signed_in):
    sowing = make_sowing(tansy, packet_in_hand(tansy, seeds=20))
    wrong = count_pot(pot_of(sowing), 10, 9, note="these were weeds")
    count_pot(pot_of(sowing), 12, 2)
    withdraw_count(count=wrong, by=tansy, at=at, reason="weeds")
    page = signed_in(tansy).get(f"/sowings/{sowing.number}/").text
    assert "2 of 20 seeds" in page
    assert "these were weeds" not in page


def test_a_sowing_with_many_looks_costs_no_more_queries(
    tansy, signed_in, django_assert_max_num_queries
):
    sowing = make_sowing(
        tansy, packet_in_hand(tansy, seeds=80), seeds_sown=80, replicate_seeds=[20] * 4
    )
    client, days = signed_in(tansy), iter(range(1, 40))
    for _ in range(2):
        for _ in range(5):
            day = next(days)
            for position in range(1, 5):
                count_pot(pot_of(sowing, position), day, 1)
        with django_assert_max_num_queries(12):
            client.get(f"/sowings/{sowing.number}/")


def test_a_stranger_to_the_site_is_asked_to_sign_in(tansy, client):
    answer = client.get(f"/sowings/{make_sowing(tansy).number}/")
    assert answer.status_code == 302
    assert "/sign-in/" in answer.url
