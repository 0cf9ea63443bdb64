"""The forecast on pages: the book's window, the society's looks, and no forecast without either."""

import datetime

import pytest

from crosses.actions.capsule import record_check
from crosses.models import Pollination
from crosses.queries.forecast import outlook_page, society_forecast, with_forecast_facts
from tests.conftest import NOON
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination

TODAY = NOON.date()


def days_ago(days):
    return TODAY - datetime.timedelta(days=days)


@pytest.fixture
def genus():
    return TaxonFactory(species="", ripe_low_days=14, ripe_high_days=28)


@pytest.fixture
def veris(genus):
    return TaxonFactory(species="veris")


@pytest.fixture
def plant(tansy, veris):
    return make_plant(tansy, "Primula veris", taxon=veris)


def pollinated(grower, plant, days, **facts):
    return make_pollination(
        grower, make_cross(grower, seed_parent=plant, **facts), pollinated_on=days_ago(days)
    )


def seen_splitting(grower, plant, closed_at, split_at, **facts):
    pollination = pollinated(grower, plant, 100, **facts)
    for day, kind in ((closed_at, "swelling"), (split_at, "split"), (split_at + 1, "shed")):
        record_check(
            pollination=pollination,
            by=grower,
            at=NOON,
            seen_on=days_ago(100 - day),
            kind=kind,
        )
    return pollination


def test_without_records_the_book_speaks_alone(tansy, plant):
    page = outlook_page(tansy, pollinated(tansy, plant, 10), TODAY)
    assert page.outlook.basis == "From the book's window of 14-28 days alone, no records."
    assert page.chart is not None


def test_the_window_of_the_genus_serves_its_species_and_seedlings(tansy, plant):
    seedling = make_plant(
        tansy, "N-17", origin="cross", raised_from=make_cross(tansy, seed_parent=plant)
    )
    assert outlook_page(tansy, pollinated(tansy, seedling, 3), TODAY).outlook.why_not == ""


def test_a_species_with_a_window_of_its_own_does_not_ask_the_genus(tansy, plant, veris):
    veris.ripe_low_days, veris.ripe_high_days = 60, 100
    veris.save()
    assert "60-100 days" in outlook_page(tansy, pollinated(tansy, plant, 3), TODAY).outlook.basis


def test_no_window_is_no_forecast_and_says_so(tansy):
    lily = make_plant(tansy, "Lilium regale")
    page = outlook_page(tansy, pollinated(tansy, lily, 10), TODAY)
    assert "no window of ripening for Lilium" in page.outlook.why_not
    assert page.chart is None


def test_records_of_this_seed_parent_are_told_from_those_of_the_taxon(tansy, plant, veris):
    other = make_plant(tansy, "Primula veris, other", taxon=veris)
    seen_splitting(tansy, plant, 17, 18)
    seen_splitting(tansy, other, 19, 20)
    basis = outlook_page(tansy, pollinated(tansy, plant, 3), TODAY).outlook.basis
    assert "1 record of this seed parent" in basis
    assert "1 record of the taxon" in basis


def test_early_records_bring_the_forecast_forward(tansy, plant):
    waiting = pollinated(tansy, plant, 3)
    before = outlook_page(tansy, waiting, TODAY).outlook.split_by_50_on
    for _capsule in range(3):
        seen_splitting(tansy, plant, 13, 14)
    assert outlook_page(tansy, waiting, TODAY).outlook.split_by_50_on < before


def test_what_a_grower_keeps_to_themselves_teaches_nobody_else(tansy, cosmo, plant):
    seen_splitting(cosmo, plant, 13, 14, visibility="me")
    assert "no records" in outlook_page(tansy, pollinated(tansy, plant, 3), TODAY).outlook.basis


def test_a_flower_unseen_for_longer_is_more_urgent(tansy, plant):
    looked_at, _forgotten = (pollinated(tansy, plant, 15) for _flower in range(2))
    record_check(pollination=looked_at, by=tansy, at=NOON, seen_on=days_ago(1), kind="swelling")
    found = list(with_forecast_facts(Pollination.objects.order_by("id")))
    ahead = society_forecast(tansy, found)
    assert ahead.chance_within(found[1], TODAY, 1) > ahead.chance_within(found[0], TODAY, 1)


def test_a_ripe_flower_needs_no_forecast(tansy, plant):
    pollination = pollinated(tansy, plant, 15)
    record_check(pollination=pollination, by=tansy, at=NOON, seen_on=TODAY, kind="colouring")
    assert "ripe" in outlook_page(tansy, pollination, TODAY).outlook.why_not


def test_records_far_from_the_book_are_told_with_a_better_window(tansy, plant):
    for _capsule in range(4):
        seen_splitting(tansy, plant, 60, 61)
    page = outlook_page(tansy, pollinated(tansy, plant, 3), TODAY)
    assert page.disagreement is not None
    assert "14-28 days" in page.disagreement.sentence
