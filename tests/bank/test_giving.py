"""Giving seed in two taps: a harvest, loose seed or a few words become a line of the open envelope."""

import datetime

import pytest
from django.urls import reverse

from seedbank.bank.models import Donation, Lot
from tests.conftest import NOON
from tests.factories.bank import LotFactory, packets_of
from tests.factories.crosses import make_cross

pytestmark = pytest.mark.django_db

BY_HAND = {
    "name_text": "Primula 'Nettlemere Dusk'",
    "taxon": "",
    "year": "2025",
    "origin": "garden",
    "packets": "4",
    "seeds_each": "25",
}


@pytest.fixture
def harvest(cosmo):
    """A hundred counted seeds of Cosmo's, in no lot yet."""
    return make_cross(cosmo, season=2025).harvests.create(
        number="H900000-00",
        harvested_on=datetime.date(2025, 8, 1),
        seed_counting="counted",
        seeds=100,
        logged_by=cosmo,
        logged_at=NOON,
    )


def give(client, harvest, how_many="3", seeds_each="25", **more):
    address = reverse("donation-give-harvest", args=[harvest.number])
    return client.post(address, {"how_many": how_many, "seeds_each": seeds_each} | more)


def test_a_harvest_is_given_in_two_taps(harvest, cosmo, signed_in):
    client = signed_in(cosmo)
    page = client.get(reverse("donation-offer"))
    ((seed, form),) = page.context["loose"]
    # Of 100 seeds the grower keeps 20 and the society 5; 25 in each makes three packets.
    assert (seed.seeds, seed.packets, form.initial["how_many"]) == (100, 3, 3)
    answer = give(client, harvest)
    donation = Donation.objects.get()
    assert answer.url == reverse("donation-detail", args=[donation.number])
    line = donation.lines.get()
    assert (line.packets_offered, line.lot.harvest, line.lot.owner) == (3, harvest, cosmo)
    assert line.lot.packets.count() == 3
    assert client.get(reverse("donation-offer")).context["loose"] == []


def test_a_double_tap_gives_a_harvest_once(harvest, cosmo, signed_in):
    client = signed_in(cosmo)
    ((_seed, form),) = client.get(reverse("donation-offer")).context["loose"]
    key = {"client_key": str(form["client_key"].value())}
    for _tap in range(2):
        assert give(client, harvest, **key).status_code == 302
    assert Lot.objects.get().packets.count() == 3
    assert Donation.objects.get().lines.count() == 1


def test_more_packets_than_seed_are_refused_at_that_harvest_and_nothing_is_made(
    harvest, cosmo, signed_in
):
    answer = give(signed_in(cosmo), harvest, "5")
    ((_seed, form),) = answer.context["loose"]
    assert "125 seeds; 100" in form.errors["how_many"][0]
    assert form["how_many"].value() == "5"
    assert not Lot.objects.exists()
    assert not Donation.objects.exists()


@pytest.mark.parametrize("how_many", ["", "0", "many"])
def test_what_is_no_number_of_packets_is_told_at_its_field(how_many, harvest, cosmo, signed_in):
    ((_seed, form),) = give(signed_in(cosmo), harvest, how_many).context["loose"]
    assert form.errors["how_many"]


def test_nobody_gives_anothers_harvest(harvest, tansy, ignatius, signed_in):
    for other in (tansy, ignatius):
        assert give(signed_in(other), harvest).status_code == 404


def test_loose_seed_of_a_lot_goes_into_the_same_envelope(harvest, cosmo, signed_in):
    lot = LotFactory(raised_by=cosmo, seed_counting="counted", seeds=60)
    client = signed_in(cosmo)
    give(client, harvest)
    client.post(
        reverse("donation-give-lot", args=[lot.number]), {"how_many": "2", "seeds_each": "20"}
    )
    assert Donation.objects.get().lines.count() == 2


def test_a_lot_in_packets_is_not_filled_into_packets_again(cosmo, signed_in):
    lot = LotFactory(raised_by=cosmo)
    packets_of(lot, 2)
    answer = signed_in(cosmo).post(
        reverse("donation-give-lot", args=[lot.number]), {"how_many": "2", "seeds_each": "20"}
    )
    assert answer.status_code == 200
    assert not Donation.objects.exists()
    assert lot.packets.count() == 2


def test_seed_without_records_is_written_down_and_given_at_one_go(cosmo, signed_in):
    answer = signed_in(cosmo).post(reverse("donation-offer-by-hand"), BY_HAND)
    line = Donation.objects.get().lines.get()
    assert answer.url == reverse("donation-detail", args=[line.donation.number])
    assert (line.lot.name_text, line.lot.owner, line.lot.origin) == (
        "Primula 'Nettlemere Dusk'",
        cosmo,
        "garden",
    )
    assert line.packets_offered == line.lot.packets.count() == 4


def test_where_seed_was_collected_belongs_to_wild_seed(cosmo, signed_in):
    typed = BY_HAND | {"wild_where": "Vale of Nettlemere"}
    answer = signed_in(cosmo).post(reverse("donation-offer-by-hand"), typed)
    assert "Where and permit belong to seed collected in the wild." in answer.content.decode()
    assert not Lot.objects.exists()
    answer = signed_in(cosmo).post(
        reverse("donation-offer-by-hand"),
        typed | {"origin": "wild", "wild_country": "GB", "wild_permit": "NM-7"},
    )
    assert Lot.objects.get().wild_permit == "NM-7"


def test_what_has_arrived_is_closed_and_the_next_gift_begins_another_envelope(
    harvest, cosmo, signed_in
):
    client = signed_in(cosmo)
    client.post(reverse("donation-offer-by-hand"), BY_HAND)
    first = Donation.objects.get()
    Donation.objects.filter(pk=first.pk).update(received_at=NOON, received_by=cosmo)
    give(client, harvest)
    assert [donation.lines.count() for donation in Donation.objects.order_by("pk")] == [1, 1]
