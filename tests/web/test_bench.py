"""The bench page: what wants a hand today, one tap for what is seen, one to take it back."""

import datetime

import pytest
from django.urls import reverse

from crosses.actions.capsule import record_check
from crosses.actions.harvest import log_harvest
from crosses.models import Check, Pollination
from crosses.queries.taps import ONE_TAP_KINDS
from seedbank.bank.actions.lot import make_lot_from_harvest
from seedbank.bank.actions.packet import make_packets
from seedbank.sowings.actions.sowing import sow
from tests.conftest import NOON, TODAY
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def plant(tansy):
    taxon = TaxonFactory(species="", ripe_low_days=20, ripe_high_days=40)
    return make_plant(tansy, taxon=taxon)


@pytest.fixture
def flower(tansy, plant):
    """A capsule that may split any day."""
    day = TODAY - datetime.timedelta(days=35)
    pollination = make_pollination(tansy, make_cross(tansy, seed_parent=plant), pollinated_on=day)
    record_check(
        pollination=pollination,
        by=tansy,
        at=NOON - datetime.timedelta(days=3),
        seen_on=TODAY - datetime.timedelta(days=3),
        kind="swelling",
    )
    return pollination


def page_of(client, **asked):
    return client.get(reverse("bench"), asked).content.decode()


def tap(client, flower, kind):
    sent = {"kind": kind, "seen_on": TODAY.isoformat(), "next": reverse("bench")}
    return client.post(reverse("check-add", args=[flower.number]), sent)


@pytest.mark.parametrize("kind", [kind.value for kind, _label in ONE_TAP_KINDS])
def test_each_answer_is_one_tap_and_one_more_takes_it_back(tansy, flower, signed_in, kind):
    client = signed_in(tansy)
    assert f'name="kind" value="{kind}"' in page_of(client)
    answer = tap(client, flower, kind)
    assert answer.headers["Location"] == reverse("bench")
    check = Check.objects.get(kind=kind, seen_on=TODAY)
    undo = reverse("check-undo", args=[flower.number, check.pk])
    assert undo in page_of(client)
    answer = client.post(undo, {"next": reverse("bench")})
    assert answer.headers["Location"] == reverse("bench")
    assert Pollination.objects.get().state == Pollination.State.TAKEN
    assert undo not in page_of(client)


def test_of_several_the_button_asks_how_many_and_of_what_has_set(tansy, plant, signed_in):
    day = TODAY - datetime.timedelta(days=35)
    truss = make_pollination(
        tansy, make_cross(tansy, seed_parent=plant), pollinated_on=day, flowers=5
    )
    record_check(
        pollination=truss,
        by=tansy,
        at=NOON,
        seen_on=TODAY - datetime.timedelta(days=3),
        kind="swelling",
        flowers=3,
    )
    client = signed_in(tansy)
    page = page_of(client)
    assert "Split: how many?" in page
    assert "all 3 that are set" in page
    assert "all 5 that are open" in page
    # What nobody can count is one tap still.
    assert 'name="kind" value="nothing_yet"' in page
    assert 'name="kind" value="split">Split' not in page
    sent = {"kind": "split", "flowers": "1", "seen_on": TODAY.isoformat(), "next": reverse("bench")}
    address = reverse("check-add", args=[truss.number])
    answer = client.post(f"{address}?place=F000002-41", sent)
    assert answer.headers["Location"] == f"{reverse('bench')}#F000002-41"
    truss.refresh_from_db()
    assert (truss.state, truss.capsules_set) == (Pollination.State.RIPE, 3)
    # A tap that says no number, as of an older page, never marks flowers that have not set.
    client.post(address, {"kind": "split", "seen_on": TODAY.isoformat()})
    truss.refresh_from_db()
    assert truss.capsules_set == 3


def test_what_a_rule_closed_stands_there_with_its_reason_and_one_tap_opens_it(
    tansy, plant, signed_in
):
    day = TODAY - datetime.timedelta(days=90)
    old = make_pollination(tansy, make_cross(tansy, seed_parent=plant), pollinated_on=day)
    client = signed_in(tansy)
    page = page_of(client)
    assert "No longer waited for: 1" in page
    assert "Nobody saw it set" in page
    assert (
        "Nobody saw it set"
        in client.get(reverse("pollination-detail", args=[old.number])).content.decode()
    )
    tap(client, old, "still_there")
    assert "No longer waited for" not in page_of(client)


def test_the_next_visit_is_remembered(tansy, plant, signed_in):
    day = TODAY - datetime.timedelta(days=14)
    young = make_pollination(tansy, make_cross(tansy, seed_parent=plant), pollinated_on=day)
    record_check(
        pollination=young,
        by=tansy,
        at=NOON,
        seen_on=TODAY - datetime.timedelta(days=1),
        kind="swelling",
    )
    client = signed_in(tansy)
    form = f'aria-label="What you see of {young.number} today'
    assert form not in page_of(client)
    assert form in page_of(client, **{"next-visit": "7"})
    assert form in page_of(client)
    # What cannot be chosen changes nothing.
    assert form in page_of(client, **{"next-visit": "ninety"})


def test_seed_is_to_be_cleaned_then_packed_then_sown_then_nothing(tansy, flower, signed_in):
    client = signed_in(tansy)
    harvest = log_harvest(
        cross=flower.cross,
        by=tansy,
        at=NOON,
        harvested_on=TODAY,
        capsules=[(flower, 1)],
        seed_counting="counted",
        seeds=20,
    )
    assert reverse("lot-from-harvest", args=[harvest.number]) in page_of(client)
    lot = make_lot_from_harvest(harvest=harvest, by=tansy, at=NOON)
    page = page_of(client)
    assert reverse("packets-add", args=[lot.number]) in page
    assert reverse("lot-from-harvest", args=[harvest.number]) not in page
    packet = make_packets(lot=lot, how_many=1, seeds_each=20, by=tansy, at=NOON)[0]
    page = page_of(client)
    assert f"{reverse('sowing-add')}?packet={packet.number}" in page
    assert reverse("packets-add", args=[lot.number]) not in page
    sow(packet=packet, grower=tansy, by=tansy, at=NOON, sown_on=TODAY, seeds_sown=10)
    assert "Seed and pots" not in page_of(client)


def test_pots_nobody_has_looked_at_for_a_week_are_to_be_counted(tansy, flower, signed_in):
    harvest = log_harvest(
        cross=flower.cross,
        by=tansy,
        at=NOON,
        harvested_on=TODAY - datetime.timedelta(days=9),
        capsules=[(flower, 1)],
        seed_counting="counted",
        seeds=20,
    )
    lot = make_lot_from_harvest(harvest=harvest, by=tansy, at=NOON)
    packet = make_packets(lot=lot, how_many=1, seeds_each=20, by=tansy, at=NOON)[0]
    sown_on = TODAY - datetime.timedelta(days=8)
    sow(packet=packet, grower=tansy, by=tansy, at=NOON, sown_on=sown_on, seeds_sown=10)
    assert "Count 1 pot<" in page_of(signed_in(tansy))


def test_anothers_bench_holds_nothing_of_mine(tansy, cosmo, flower, signed_in):
    assert flower.number not in page_of(signed_in(cosmo))
    assert "Begin with a plant you keep" in page_of(signed_in(cosmo))


def test_the_bench_costs_no_more_for_more_flowers(
    tansy, plant, flower, signed_in, django_assert_max_num_queries
):
    client = signed_in(tansy)
    client.get(reverse("bench"))
    with django_assert_max_num_queries(40) as few:
        client.get(reverse("bench"))
    for _flower in range(4):
        make_pollination(tansy, make_cross(tansy, seed_parent=plant))
    with django_assert_max_num_queries(len(few.captured_queries)):
        client.get(reverse("bench"))
