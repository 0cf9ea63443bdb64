"""What the API reckons for one record alone, each with the sentence that says how."""

import datetime

import pytest
from django.urls import reverse

from crosses.base.visibility import Visibility
from crosses.calc.checkdigit import write_number
from crosses.models import Cross
from tests.api.conftest import lot_of_cross
from tests.conftest import NOON, TODAY
from tests.factories.bank import LotFactory
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination
from tests.factories.sowings import (
    count_pot,
    counted_sowing,
    make_sowing,
    packet_in_hand,
    pot_of,
)

pytestmark = pytest.mark.django_db


def one(script, name, number, **asked):
    answer = script.get(reverse(f"api-{name}", args=[number]), asked)
    assert answer.status_code == 200, answer.content
    return answer.json()


@pytest.fixture
def species(tansy):
    return [
        make_plant(tansy, f"Primula {name}", taxon=TaxonFactory(species=name))
        for name in ("bulleyana", "beesiana")
    ]


@pytest.fixture
def hybrid(tansy, species):
    cross = make_cross(tansy, seed_parent=species[0], pollen_parent=species[1])
    return make_plant(tansy, "26-07-1", origin="cross", raised_from=cross)


def test_a_plant_tells_what_it_is_made_of(tansy, with_key, hybrid, species):
    told = one(with_key(tansy), "plant-detail", hybrid.number)
    assert told["generation"]["name"] == "F1"
    assert {share["taxon"]: share["fraction"] for share in told["composition"]["shares"]} == {
        "Primula bulleyana": "1/2",
        "Primula beesiana": "1/2",
    }
    assert {founder["plant"] for founder in told["founders"]} == {one.number for one in species}
    assert sum(founder["share"] for founder in told["founders"]) == 1


def test_a_selfed_plant_tells_its_inbreeding_and_how(tansy, with_key, hybrid):
    selfing = make_cross(tansy, seed_parent=hybrid, pollen=Cross.Pollen.SELF)
    plant = make_plant(tansy, "26-08-1", origin="cross", raised_from=selfing)
    told = one(with_key(tansy), "plant-detail", plant.number)
    # Falconer and Mackay, Introduction to Quantitative Genetics, ch. 5: one selfing gives F = 1/2.
    assert told["inbreeding"]["coefficient"] == 0.5
    assert told["inbreeding"]["how"] == "Inbreeding 0.500, from 3 known ancestors."
    assert told["generation"]["name"] == "F2"


def test_a_founder_that_is_not_ones_to_see_is_not_named(tansy, wilhelmina, with_key):
    hidden = make_plant(tansy, "Primula 'Secret'", visibility=Visibility.ME)
    cross = make_cross(tansy, seed_parent=hidden)
    plant = make_plant(tansy, "26-09-1", origin="cross", raised_from=cross)
    told = one(with_key(wilhelmina), "plant-detail", plant.number)
    assert sorted(founder["plant"] is None for founder in told["founders"]) == [False, True]
    assert "Secret" not in str(told["founders"])


def test_kinship_of_two_plants_is_told(tansy, with_key, hybrid, species):
    told = one(with_key(tansy), "plant-kinship", hybrid.number, other=species[0].number)
    assert (told["kinship"], told["relationship"]) == (0.25, 0.5)
    assert told["how"].startswith("Kinship 0.250")


def test_kinship_with_a_plant_one_may_not_see_is_not_told(tansy, wilhelmina, with_key, hybrid):
    hidden = make_plant(tansy, visibility=Visibility.ME)
    address = reverse("api-plant-kinship", args=[hybrid.number])
    assert with_key(wilhelmina).get(address, {"other": hidden.number}).status_code == 404


def test_kinship_needs_the_other_number(tansy, with_key, hybrid):
    answer = with_key(tansy).get(reverse("api-plant-kinship", args=[hybrid.number]))
    assert answer.status_code == 400
    assert "other" in answer.content.decode()


def test_partners_are_told_best_first_with_their_grounds(tansy, with_key, hybrid, species):
    told = one(with_key(tansy), "plant-partners", hybrid.number)
    assert {partner["plant"] for partner in told} == {one.number for one in species}
    assert told[0]["offspring_inbreeding"] == 0.25
    assert any("inbreeding of 0.250" in reason for reason in told[0]["reasons"])


def test_partners_of_ones_own_leave_out_those_of_others(tansy, cosmo, with_key, hybrid):
    theirs = make_plant(cosmo)
    numbers = [
        {
            partner["plant"]
            for partner in one(with_key(tansy), "plant-partners", hybrid.number, **asked)
        }
        for asked in ({}, {"own_only": "true", "gives_pollen": "true"})
    ]
    assert theirs.number in numbers[0]
    assert theirs.number not in numbers[1]


def test_a_cross_tells_its_pair_its_seeds_and_its_flowers(tansy, with_key):
    cross = lot_of_cross(tansy).harvest.cross
    told = one(with_key(tansy), "cross-detail", cross.number)
    chance = told["chance_of_pair"]
    assert chance["low"] < chance["chance"] < chance["high"]
    assert "3 of 3 flowers took" in chance["how"]
    assert told["seeds_per_capsule"]["by_capsule"] == pytest.approx(400 / 3)
    assert told["relation_of_parents"]["kinship"] == 0
    (flower,) = told["pollinations"]
    assert flower["state"] == "harvested"
    assert flower["opening"]["why_not"]


def test_an_open_flower_tells_when_its_capsule_may_split(tansy, with_key, time_machine):
    # Half a year later it would no longer be waited for.
    time_machine.move_to(NOON, tick=False)
    taxon = TaxonFactory(ripe_low_days=60, ripe_high_days=100)
    cross = make_cross(tansy, seed_parent=make_plant(tansy, "Primula veris", taxon=taxon))
    make_pollination(tansy, cross, pollinated_on=TODAY - datetime.timedelta(days=10))
    told = one(with_key(tansy), "cross-detail", cross.number)
    opening = told["pollinations"][0]["opening"]
    assert opening["split_by_10_on"] < opening["split_by_50_on"] < opening["split_by_90_on"]
    assert "book" in opening["how"]


def test_a_lot_tells_its_seeds_packets_and_storage(tansy, with_key):
    lot = LotFactory(
        number=write_number("lot", 900),
        raised_by=tansy,
        seed_counting="sampled",
        seeds=300,
        seeds_low=290,
        seeds_high=310,
        collected_on=TODAY - datetime.timedelta(days=200),
    )
    told = one(with_key(tansy), "lot-detail", lot.number)
    assert told["seed_number"]["low"] == 290
    assert "95 %" in told["seed_number"]["how"]
    # By hand: 290 less 58 of one's own less 15 in reserve is 8 packets of 25 and 17 seeds.
    assert (told["packet_plan"]["packets"], told["packet_plan"]["left_over"]) == (8, 17)
    assert told["storage_outlook"]["method"] == "nothing"
    assert "twelve months" in told["storage_outlook"]["how"]
    assert told["seeds_to_sow"] is None


def test_a_lot_that_was_sown_tells_what_to_expect_with_intervals(tansy, with_key):
    lot = LotFactory(
        number=write_number("lot", 900),
        raised_by=tansy,
        collected_on=TODAY - datetime.timedelta(days=200),
    )
    counted_sowing(tansy, 78, 120, lot=lot)
    told = one(with_key(tansy), "lot-detail", lot.number)
    over = told["germination_over_sowings"]
    assert over["mean_low"] < over["mean"] < over["mean_high"]
    assert told["storage_outlook"]["germination"]["value"] == pytest.approx(0.65)
    assert told["seeds_to_sow"]["seeds"] > 5
    assert "120 seeds" in told["seeds_to_sow"]["how"]


@pytest.fixture
def sowing_of_two_pots(tansy):
    """Two pots of 25 looked at on days of their own."""
    sowing = make_sowing(tansy, packet_in_hand(tansy, seeds=50), replicate_seeds=[25, 25])
    for position, days in ((1, (7, 14, 21, 28)), (2, (9, 16, 23, 30))):
        for day, new in zip(days, (2, 11, 6, 1), strict=True):
            count_pot(pot_of(sowing, position), day, new)
    return sowing


@pytest.mark.parametrize("name", ["germination-detail", "sowing-detail"])
def test_a_sowing_tells_all_indices_its_course_and_its_curve(
    tansy, with_key, sowing_of_two_pots, name
):
    told = one(with_key(tansy), name, sowing_of_two_pots.number)
    assert told["indices"]["final_share"]["x"] == 40
    # By hand: (2*7 + 11*14 + 6*21 + 28 + 2*9 + 11*16 + 6*23 + 30) / 40.
    assert told["indices"]["mean_germination_time_days"] == pytest.approx(684 / 40)
    assert "Coolbear" in told["indices"]["how"]
    assert "days of their own" in told["course_how"]
    for step in told["course"]:
        assert step["low"] <= step["share"] <= step["high"]
    curve = told["curve"]
    assert curve["is_identified"]
    assert curve["germinable_share"]["low"] < 0.8 < curve["germinable_share"]["high"]
    assert "2 pots" in curve["how"]
    half = told["half_of_all_seeds"]
    assert half["low"] < half["day"] < half["high"]
    assert half["how"].startswith("Half of all seeds by day")


def test_a_sowing_nobody_looked_at_tells_nothing_and_not_nought(tansy, with_key):
    told = one(with_key(tansy), "sowing-detail", make_sowing(tansy).number)
    assert (told["indices"], told["curve"], told["course"]) == (None, None, [])
