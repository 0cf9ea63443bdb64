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
