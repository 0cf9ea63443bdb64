"""How well forecasts did: tried on what opened, by what was known before its season."""

import datetime

import pytest
from django.core.cache import cache
from django.urls import reverse

from crosses.actions.capsule import record_check, withdraw_check
from crosses.queries.backtest import backtest
from tests.conftest import NOON
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination


@pytest.fixture(autouse=True)
def nothing_kept():
    cache.clear()


@pytest.fixture
def plant(tansy):
    # The book's central 80 %: day 20 to 40.
    return make_plant(tansy, taxon=TaxonFactory(species="", ripe_low_days=20, ripe_high_days=40))


@pytest.fixture
def opened(tansy, plant):
    """Return a function that makes a capsule seen closed on one day of its age, split on another."""

    def make(closed_until, opened_by, year=2025, **cross):
        pollinated_on = datetime.date(year, 3, 1)
        pollination = make_pollination(
            tansy,
            make_cross(tansy, seed_parent=plant, season=year, **cross),
            pollinated_on=pollinated_on,
        )
        for age, kind in ((closed_until, "swelling"), (opened_by, "split")):
            record_check(
                pollination=pollination,
                by=tansy,
                at=NOON,
                seen_on=pollinated_on + datetime.timedelta(days=age),
                kind=kind,
            )
        return pollination

    return make


def test_within_earlier_and_later_are_told_apart(opened):
    for closed_until, opened_by in ((29, 30), (34, 35), (9, 10), (59, 60)):
        opened(closed_until, opened_by)
    found = backtest().together
    assert (found.within.x, found.within.n) == (2, 4)
    assert (found.too_early, found.too_late) == (1, 1)


def test_a_season_is_forecast_from_earlier_seasons_alone(opened):
    for _capsule in range(3):
        opened(23, 24, year=2024)
    opened(23, 24, year=2025)
    assert [(words, kept.within.n) for words, kept in backtest().by_records] == [
        ("the book alone", 3),
        ("1 to 9 records", 1),
    ]


def test_what_earlier_seasons_taught_moves_the_days_that_are_said(opened):
    # By the book day 45 is late (after 40); by thirty capsules of this plant it is not.
    for _capsule in range(30):
        opened(44, 45, year=2024)
    opened(44, 45, year=2025)
    by_season = dict(backtest().by_season)
    assert by_season["2024"].too_late == 30
    assert by_season["2025"].within.x == 1


def test_where_nobody_looked_for_too_long_nothing_is_claimed(opened):
    opened(1, 30)
    found = backtest().together
    assert (found.within.n, found.untold) == (0, 1)


def test_what_the_society_does_not_see_is_not_counted(opened):
    opened(29, 30, visibility="me")
    assert backtest().together.within.n == 0


def test_a_split_that_was_taken_back_is_none(tansy, opened):
    split = opened(29, 30).checks.get(kind="split")
    withdraw_check(check=split, by=tansy, at=NOON, reason="thumb")
    assert backtest().together.within.n == 0


def test_the_page_shows_the_share_with_its_interval_and_number(cosmo, opened, signed_in):
    page = reverse("pollination-forecast")
    assert "No capsule was seen" in signed_in(cosmo).get(page).content.decode()
    cache.clear()
    for _capsule in range(4):
        opened(29, 30)
    shown = signed_in(cosmo).get(page).content.decode()
    # Wilson 95 % of 4 of 4: 51 to 100 % (Wilson 1927).
    assert "51–100 %, 4 of 4" in shown
    assert "Primula" in shown
