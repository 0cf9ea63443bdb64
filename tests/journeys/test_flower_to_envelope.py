"""A grower's year through pages only: two plants, a flower, a capsule, packets, a pot, a gift."""

import datetime

import pytest

from crosses.base.clock import today
from seedbank.bank.models import Packet
from tests.journeys.people import Visitor

pytestmark = pytest.mark.django_db


@pytest.fixture
def grower(tansy) -> Visitor:
    return Visitor(tansy)


def days_ago(days: int) -> datetime.date:
    return today() - datetime.timedelta(days=days)


@pytest.fixture
def pair(grower) -> tuple[str, str]:
    grower.fill("/plants/add/", name_text="Primula 'Quillfeather Smoke'", style_form="thrum")
    smoke = grower.number
    grower.fill("/plants/add/", name_text="Primula 'Oddwater Lemon'", style_form="pin")
    return smoke, grower.number


@pytest.fixture
def flower(grower, pair) -> str:
    smoke, lemon = pair
    page = grower.fill(
        "/flowers/add/",
        seed_parent=smoke,
        pollen_parent=lemon,
        flowers=6,
        pollinated_on=days_ago(120),
        both_ways="on",
        flowers_back=5,
    )
    assert "Quillfeather Smoke" in page
    return grower.number


def test_a_pollination_logs_its_reciprocal_with_the_parents_the_other_way_round(
    grower, flower, pair
):
    crosses = grower.see("/crosses/")
    assert crosses.index("Quillfeather Smoke") < crosses.index("Oddwater Lemon")
    assert crosses.count("/crosses/C") >= 2


def test_checks_make_the_state_and_an_undo_takes_it_back(grower, flower):
    page = grower.fill(
        f"/flowers/{flower}/check/", seen_on=days_ago(100), kind="swelling", flowers=5
    )
    assert "taken" in page
    assert "5" in page
    page = grower.fill(f"/flowers/{flower}/check/", seen_on=days_ago(90), kind="aborted", flowers=9)
    assert "only 6" in page


@pytest.fixture
def lot(grower, flower) -> str:
    grower.fill(f"/flowers/{flower}/check/", seen_on=days_ago(60), kind="swelling", flowers=5)
    cross = grower.see(f"/flowers/{flower}/").split("/crosses/C")[1].split("/")[0]
    grower.fill(
        f"/crosses/C{cross}/harvest/",
        harvested_on=days_ago(20),
        **{f"capsules_{flower}": 5},
        seed_counting="sampled",
        samples="100 0.041\n100 0.040\n100 0.042",
        clean_grams="0.119",
    )
    harvest = grower.number
    page = grower.fill(f"/harvests/{harvest}/lot/", how_many=8, seeds_each=25)
    assert "in 8 packets" in page
    return grower.number


def test_a_harvest_before_its_pollination_is_refused_at_its_field_and_nothing_is_lost(
    grower, flower
):
    grower.fill(f"/flowers/{flower}/check/", seen_on=days_ago(60), kind="swelling", flowers=5)
    cross = grower.see(f"/flowers/{flower}/").split("/crosses/C")[1].split("/")[0]
    page = grower.fill(
        f"/crosses/C{cross}/harvest/",
        harvested_on=days_ago(300),
        **{f"capsules_{flower}": 5},
        seed_counting="counted",
        seeds=77,
    )
    assert "was pollinated on" in page
    assert 'value="77"' in page


def test_an_estimated_count_is_shown_with_its_interval(grower, lot):
    page = grower.see(f"/lots/{lot}/")
    assert "about 290" in page
    assert "95 %" in page


@pytest.fixture
def packets(lot) -> list[str]:
    return list(
        Packet.objects.filter(lot__number=lot).order_by("number").values_list("number", flat=True)
    )


def test_packets_are_labelled_and_stored_and_a_mistyped_number_is_told(grower, lot, packets):
    labels = grower.client.get(
        f"/lots/{lot}/labels/", {"sheet": "24 on A4 (70 x 37 mm)", "start_at": 1}
    )
    assert labels.status_code == 200
    grower.fill("/places/", code="BOX-1")
    wrong = packets[0][:-1] + ("0" if packets[0][-1] != "0" else "1")
    page = grower.fill("/store/", place="BOX-1", packets=f"{packets[1]}\n{wrong}")
    assert "mistyped" in page
    assert Packet.objects.get(number=packets[1]).place.code == "BOX-1"


def test_a_sowing_is_counted_and_never_above_what_was_sown(grower, packets):
    grower.fill(
        f"/sowings/add/?packet={packets[0]}", packet=packets[0], sown_on=days_ago(18), seeds_sown=20
    )
    sowing = grower.number
    grower.fill(f"/sowings/{sowing}/counts/", counted_on=days_ago(10), number=7, typed_as="new")
    page = grower.fill(
        f"/sowings/{sowing}/counts/", counted_on=days_ago(3), number=25, typed_as="total"
    )
    assert "more than the 20 seeds" in page
    page = grower.fill(
        f"/sowings/{sowing}/counts/", counted_on=days_ago(3), number=12, typed_as="total"
    )
    assert "12 of 20 seeds" in page
    chain = grower.see(f"/packets/{packets[0]}/")
    assert "Seed parent" in chain
    assert "12 of 20 seeds" in chain


def test_the_chain_leads_from_the_packet_back_to_the_flower(grower, flower, packets):
    chain = grower.see(f"/packets/{packets[2]}/").split("<h2>The chain</h2>")[1]
    order = [
        chain.index(words)
        for words in (
            "Seed parent",
            "Pollen parent",
            ">Cross<",
            "Pollinated",
            "Harvested",
            "Seed lot",
            "This packet",
        )
    ]
    assert order == sorted(order)


def test_an_offer_reaches_the_keeper_who_takes_it_in(grower, lot, packets, ignatius):
    grower.fill("/donations/offer/", **{f"packets_{lot}": 5})
    donation = grower.number
    keeper = Visitor(ignatius)
    keeper.fill("/places/", code="A-01", is_bank="on")
    line = keeper.see(f"/donations/{donation}/receive/").split('name="line-')[1].split("-")[0]
    keeper.fill(
        f"/donations/{donation}/receive/",
        **{
            f"line-{line}-answer": "accepted",
            f"line-{line}-packets_received": 5,
            f"line-{line}-place": "A-01",
        },
    )
    assert Packet.objects.filter(lot__number=lot, state="in_store").count() == 5
    assert "accepted" in grower.see(f"/donations/{donation}/")


def test_a_stranger_sees_neither_the_offer_nor_another_growers_forms(
    grower, lot, packets, flower, cosmo
):
    grower.fill("/donations/offer/", **{f"packets_{lot}": 5})
    donation = grower.number
    stranger = Visitor(cosmo)
    stranger.see(f"/donations/{donation}/", status=404)
    stranger.see(f"/flowers/{flower}/check/", status=403)
    stranger.see(f"/lots/{lot}/packets/", status=403)
    stranger.see("/donations/by-hand/", status=403)
