"""Comparing how soon two sowings came, as well as how many."""

import pytest

from tests.factories.bank import LotFactory, packets_of
from tests.factories.sowings import count_pot, counted_sowing, make_sowing, pot_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot(tansy):
    return LotFactory(raised_by=tansy)


@pytest.fixture
def first(tansy, lot):
    """78 of 120, seen on day 14."""
    return counted_sowing(tansy, 78, 120, lot=lot)


def compare(client, first, second):
    return client.get(f"/sowings/{first.number}/compare/", {"other": second.number}).text


def test_courses_looked_at_on_the_same_days_are_compared(tansy, lot, first, signed_in):
    second = counted_sowing(tansy, 29, 140, lot=lot)
    assert "78 seedlings on the first side" in compare(signed_in(tansy), first, second)


def test_courses_looked_at_on_other_days_are_not_but_the_totals_are(tansy, lot, first, signed_in):
    second = make_sowing(tansy, packets_of(lot, seeds_each=140)[0])
    count_pot(pot_of(second), 15, 29)
    page = compare(signed_in(tansy), first, second)
    assert "not looked at on the same days" in page
    # The hybrid score interval of 29/140 less 78/120 (Newcombe 1998, method 10).
    assert "44 points fewer (33 to 54)" in page


def test_courses_looked_at_on_other_days_are_compared_by_ranks(tansy, lot, first, signed_in):
    second = make_sowing(tansy, packets_of(lot, seeds_each=140)[0])
    count_pot(pot_of(second), 15, 29)
    page = compare(signed_in(tansy), first, second)
    assert "A seed of the first side comes sooner than one of the second in" in page


def test_sowings_of_three_pots_each_are_compared_by_dealing_out_the_pots(tansy, lot, signed_in):
    sowings = []
    for packet, came in zip(packets_of(lot, seeds_each=60, how_many=2), (15, 5), strict=True):
        sowing = make_sowing(tansy, packet, replicate_seeds=[20, 20, 20])
        for position in (1, 2, 3):
            count_pot(pot_of(sowing, position), 14, came + position)
        sowings.append(sowing)
    page = compare(signed_in(tansy), *sowings)
    assert "Of 20 ways to deal out the pots, 2 differ as much (p 0.100" in page


def test_the_page_says_how_pots_of_different_days_were_taken_together(tansy, lot, signed_in):
    sowing = make_sowing(tansy, packets_of(lot, seeds_each=40)[0], replicate_seeds=[20, 20])
    count_pot(pot_of(sowing, 1), 7, 10)
    count_pot(pot_of(sowing, 2), 10, 10)
    page = signed_in(tansy).get(f"/sowings/{sowing.number}/").text
    assert "days of their own" in page


def test_pots_of_different_days_in_which_nothing_came_have_a_page(tansy, lot, signed_in):
    sowing = make_sowing(tansy, packets_of(lot, seeds_each=40)[0], replicate_seeds=[20, 20])
    count_pot(pot_of(sowing, 1), 7, 0)
    count_pot(pot_of(sowing, 2), 10, 0)
    answer = signed_in(tansy).get(f"/sowings/{sowing.number}/")
    assert answer.status_code == 200
    assert "Nothing has come up" in answer.text
