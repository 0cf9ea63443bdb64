"""A grower's season in pictures, each with its figures in words and as a table."""

import datetime

import pytest
from django.urls import reverse

from crosses.actions.capsule import record_check
from crosses.formats.labelsheet import SHEETS
from crosses.queries.glance import own_crosses_of_season, taken_by, timeline_of
from crosses.queries.pollen import pollen_found
from tests.conftest import NOON
from tests.factories.crosses import make_cross, make_pollination

pytestmark = pytest.mark.django_db

PAGE = reverse("cross-season")


def pollinated(grower, cross, flowers, took, month=4):
    day = datetime.date(2026, month, 1)
    pollination = make_pollination(grower, cross, pollinated_on=day, flowers=flowers)
    kind, seen = ("swelling", took) if took else ("aborted", flowers)
    record_check(
        pollination=pollination,
        by=grower,
        at=NOON,
        seen_on=day + datetime.timedelta(days=9),
        kind=kind,
        flowers=seen,
    )
    return pollination


def test_a_row_a_cross_shows_what_was_done_and_seen_in_order_of_day(tansy, smoke, lemon):
    cross = make_cross(tansy, seed_parent=smoke, pollen_parent=lemon, own_number="26-07")
    pollinated(tansy, cross, flowers=6, took=5)
    chart = timeline_of(own_crosses_of_season(tansy, 2026), 2026)
    assert [row[1:] for row in chart.table_rows] == [
        ("2026-04-01", "pollinated"),
        ("2026-04-10", "swelling"),
    ]
    assert chart.table_rows[0][0].startswith("26-07 Primula")


def test_what_took_is_shared_out_by_month_and_parent_with_what_it_rests_on(tansy, smoke, lemon):
    forth = make_cross(tansy, seed_parent=smoke, pollen_parent=lemon)
    back = make_cross(tansy, seed_parent=lemon, pollen_parent=smoke)
    pollinated(tansy, forth, flowers=12, took=11, month=3)
    pollinated(tansy, back, flowers=18, took=7, month=4)
    taken = taken_by(tansy, 2026)
    # Wilson's interval for 7 of 18, by scipy's binomtest: 0.203 to 0.614.
    assert taken.by_month.table_rows == (
        ("March", "92 %", "65 to 99 %", "11 of 12"),
        ("April", "39 %", "20 to 61 %", "7 of 18"),
    )
    assert [row[0] for row in taken.by_seed_parent.table_rows] == [
        "Primula 'Oddwater Lemon'",
        "Primula 'Quillfeather Smoke'",
    ]


def test_flowers_nobody_knows_of_yet_count_neither_way(tansy):
    make_pollination(tansy)
    assert taken_by(tansy, 2026).by_month is None


def test_the_page_opens_on_the_latest_season_and_offers_the_others(tansy, signed_in):
    pollinated(tansy, make_cross(tansy, season=2025), flowers=3, took=1)
    pollinated(tansy, make_cross(tansy, season=2026), flowers=3, took=2)
    page = signed_in(tansy).get(PAGE).text
    assert "Your season of 2026" in page
    assert 'href="?season=2025"' in page
    assert "In all your seasons" in page
    ids = [part.split('"')[0] for part in page.split(' id="')[1:]]
    assert len(ids) == len(set(ids))


def test_a_grower_who_made_no_cross_is_told_how_to_begin(tansy, signed_in):
    assert "Log a pollination" in signed_in(tansy).get(PAGE).text


def test_nobody_elses_season_is_in_it(tansy, cosmo, signed_in):
    pollinated(tansy, make_cross(tansy), flowers=3, took=2)
    assert "Nothing is written down" in signed_in(cosmo).get(PAGE).text


def test_more_crosses_cost_no_more_queries(tansy, django_assert_max_num_queries, signed_in):
    for _cross in range(6):
        pollinated(tansy, make_cross(tansy), flowers=3, took=2)
    client = signed_in(tansy)
    with django_assert_max_num_queries(16):
        client.get(PAGE)


def test_when_pollen_was_found_is_told_by_month_temperature_and_hour(tansy, signed_in):
    def visit(day, air, hour, **facts):
        make_pollination(
            tansy,
            pollinated_on=datetime.date(2026, *day),
            air_temperature_celsius=air,
            pollinated_time=datetime.time(hour, 30),
            **facts,
        )

    visit((4, 12), 12, 9)
    address = reverse("cross-season")
    # Before the first visit without pollen nobody is known to have looked for it.
    assert "When pollen was found" not in signed_in(tansy).get(address).content.decode()
    visit((4, 13), 13, 9)
    visit((5, 12), 27, 15, pollen_seen=False)
    visit((5, 13), 28, 15)
    page = signed_in(tansy).get(address).content.decode()
    for label in ("April", "May", "10 to 15 °C", "25 to 30 °C", "9:00 to 10:00", "15:00 to 16:00"):
        assert label in page
    found = pollen_found(tansy)
    # Two of two in April, one of two in May: rows say count and number.
    assert [row[-1] for row in found.by_month.table_rows] == [
        row[-1] for row in found.by_hour.table_rows
    ]
    assert "no_pollen" not in page


def test_no_pollen_has_no_tag(tansy, signed_in):
    flower = make_pollination(tansy, pollen_seen=False)
    client = signed_in(tansy)
    answer = client.get(reverse("pollination-tag", args=[flower.number]), follow=True)
    page = answer.content.decode()
    assert "nothing to tag" in page
    assert "No pollen was found: nothing is expected." in page
    assert "Print" not in page
    sheet = {"sheet": next(iter(SHEETS)), "start_at": "1"}
    refused = client.post(reverse("pollination-tags"), {"numbers": flower.number} | sheet)
    assert "No pollen was found, so there is nothing to tag" in refused.content.decode()
