"""Keep seedlings: they become plants whose parents are those of the cross, and no more than came up."""

import datetime

import pytest

from crosses.actions.harvest import log_harvest
from crosses.base.refusal import Refused
from crosses.models import Plant
from seedbank.bank.actions.lot import make_lot_from_harvest
from seedbank.bank.actions.packet import make_packets
from seedbank.sowings.actions.seedling import keep_seedlings
from tests.factories.crosses import TaxonFactory, make_cross, make_pollination
from tests.factories.sowings import SOWN_ON, count_pot, make_sowing, packet_in_hand, pot_of

pytestmark = pytest.mark.django_db

HARVESTED_ON = datetime.date(2026, 3, 1)


@pytest.fixture
def sowing(tansy, at):
    """Ten seeds of a recorded cross, of which four came up."""
    cross = make_cross(tansy)
    pollination = make_pollination(tansy, cross, pollinated_on=datetime.date(2025, 11, 1))
    harvest = log_harvest(
        cross=cross,
        by=tansy,
        at=at,
        harvested_on=HARVESTED_ON,
        capsules=[(pollination, 1)],
        seed_counting="counted",
        seeds=10,
    )
    lot = make_lot_from_harvest(harvest=harvest, by=tansy, at=at)
    packet = make_packets(lot=lot, how_many=1, seeds_each=10, by=tansy, at=at)[0]
    sowing = make_sowing(tansy, packet)
    count_pot(pot_of(sowing), 20, 4)
    return sowing


@pytest.fixture
def keep(sowing, tansy, at):
    def do(*names, **facts):
        return keep_seedlings(sowing=sowing, by=tansy, at=at, names=list(names), **facts)

    return do


def test_a_kept_seedling_is_a_plant_raised_from_the_cross(keep, sowing, tansy):
    seedling, _other = keep("26-01-1", "26-01-2")
    plant, cross = seedling.plant, sowing.packet.lot.harvest.cross
    assert (plant.name_text, plant.keeper, plant.origin) == ("26-01-1", tansy, "cross")
    assert plant.raised_from == cross
    assert plant.number.startswith("P")


def test_without_a_cross_the_taxon_of_the_lot_is_what_is_known(tansy, at):
    taxon = TaxonFactory()
    sowing = make_sowing(tansy, packet_in_hand(tansy, seeds=10, taxon=taxon))
    count_pot(pot_of(sowing), 20, 1)
    (kept,) = keep_seedlings(sowing=sowing, by=tansy, at=at, names=["26-07-1"])
    assert (kept.plant.raised_from, kept.plant.taxon, kept.plant.origin) == (None, taxon, "garden")


def test_a_private_sowing_gives_private_plants(tansy, at):
    sowing = make_sowing(tansy, visibility="me")
    count_pot(pot_of(sowing), 20, 1)
    (kept,) = keep_seedlings(sowing=sowing, by=tansy, at=at, names=["26-07-1"])
    assert kept.plant.visibility == "me"


def test_no_more_are_kept_than_came_up(keep):
    keep("26-01-1", "26-01-2", "26-01-3")
    with pytest.raises(Refused, match="4 came up and 3 are kept already; 2 more cannot be"):
        keep("26-01-4", "26-01-5")
    keep("26-01-4")
    assert Plant.objects.filter(seedling__isnull=False).count() == 4


def test_a_label_stands_once_in_a_sowing_so_a_double_tap_keeps_nothing_twice(keep):
    with pytest.raises(Refused, match="“26-01-1” on its label already"):
        keep("26-01-1", "26-01-1")
    keep("26-01-1")
    with pytest.raises(Refused, match="“26-01-1” on its label already"):
        keep("26-01-1")
    assert Plant.objects.filter(seedling__isnull=False).count() == 1


@pytest.mark.parametrize(
    ("day", "words"),
    [(SOWN_ON, "a day later"), (datetime.date(2026, 5, 21), "still to come")],
)
def test_a_day_of_pricking_out_that_cannot_be_is_refused(keep, day, words):
    with pytest.raises(Refused, match=words) as no:
        keep("26-01-1", pricked_out_on=day)
    assert no.value.field == "pricked_out_on"


def test_the_page_keeps_one_a_line_and_says_how_many(sowing, tansy, cosmo, signed_in):
    path, typed = f"/sowings/{sowing.number}/seedlings/", {"names": " 26-01-1\n\n26-01-2 \n"}
    assert signed_in(cosmo).post(path, typed).status_code == 403
    page = signed_in(tansy).post(path, typed, follow=True).text
    assert "2 kept" in page
    again = signed_in(tansy).post(path, typed)
    assert again.status_code == 422
    assert "26-01-2" in again.text
    assert Plant.objects.filter(seedling__isnull=False).count() == 2
