"""Seeds into packets."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from crosses.calc.errors import BadInput
from crosses.calc.rates import wilson
from seedbank.calc.packetplan import (
    packet_size,
    plan_packets,
    seeds_needed,
)

# Seeds and packets of 25 of the invented society's first season, after 20 % own and 5 % reserve.
SEASON = [
    ("01", 290, 8),
    ("02", 315, 9),
    ("03", 62, 1),
    ("04", 11, 0),
    ("05", 560, 16),
    ("06", 610, 18),
    ("07", 720, 21),
    ("09", 48, 1),
    ("10", 96, 2),
    ("11", 0, 0),
]


@pytest.mark.parametrize(("cross", "seeds", "packets"), SEASON)
def test_the_first_season_divides_as_its_growers_did_it(cross, seeds, packets):
    assert plan_packets(seeds, seeds_per_packet=25).packets == packets


def test_the_first_season_makes_seventy_six_packets():
    assert sum(plan_packets(seeds, seeds_per_packet=25).packets for _, seeds, _ in SEASON) == 76


@pytest.mark.parametrize(
    ("germination", "one", "five"), [(0.25, 11, 34), (0.40, 6, 21), (0.60, 4, 13), (0.80, 2, 9)]
)
def test_seeds_for_one_and_for_five_seedlings_are_the_binomial_ones(germination, one, five):
    assert seeds_needed(1, germination) == one
    assert seeds_needed(5, germination) == five


@given(
    seedlings=st.integers(1, 60),
    germination=st.floats(0.02, 1),
    confidence=st.sampled_from([0.5, 0.8, 0.95, 0.99]),
)
def test_seeds_needed_are_enough_and_one_fewer_is_not(seedlings, germination, confidence):
    seeds = seeds_needed(seedlings, germination, confidence)
    assert stats.binom.sf(seedlings - 1, seeds, germination) >= confidence - 1e-9
    assert stats.binom.sf(seedlings - 1, seeds - 1, germination) < confidence


def test_an_exact_tie_does_not_cost_a_seed():
    # By symmetry four or more of seven at one half have a chance of exactly one half.
    assert seeds_needed(4, 0.5, 0.5) == 7


@pytest.mark.parametrize("germination", [0, -0.1, 1.2])
def test_a_germination_that_cannot_be_is_refused(germination):
    with pytest.raises(BadInput) as refusal:
        seeds_needed(3, germination)
    assert refusal.value.field == "germination"


def test_seed_that_hardly_germinates_gets_advice_instead_of_a_huge_packet():
    with pytest.raises(BadInput, match="raise fresh seed"):
        seeds_needed(50, 0.0001)


def test_a_small_test_asks_for_a_fuller_packet_than_a_large_one():
    small, large = packet_size(5, wilson(8, 20)), packet_size(5, wilson(80, 200))
    assert small.seeds == large.seeds == 21
    assert small.seeds_if_poor > large.seeds_if_poor > 21
    assert "8 of 20" in small.sentence


def test_without_one_seedling_there_is_no_packet_size():
    with pytest.raises(BadInput, match="no packet size"):
        packet_size(1, wilson(0, 20))
    with pytest.raises(BadInput, match="no packet size"):
        packet_size(1, wilson(0, 0))


@given(
    seeds=st.integers(0, 100_000),
    each=st.integers(1, 500),
    own=st.integers(0, 100),
    reserve=st.integers(0, 100),
)
def test_every_seed_is_in_exactly_one_part_of_the_plan(seeds, each, own, reserve):
    if own + reserve > 100:
        with pytest.raises(BadInput):
            plan_packets(seeds, seeds_per_packet=each, own_percent=own, reserve_percent=reserve)
        return
    plan = plan_packets(seeds, seeds_per_packet=each, own_percent=own, reserve_percent=reserve)
    assert plan.own + plan.reserve + plan.packets * each + plan.leftover == seeds
    assert 0 <= plan.leftover < each
    assert plan.own >= seeds * own / 100
    assert plan.reserve >= 0


@pytest.mark.parametrize(
    ("seeds", "each", "field"),
    [(-1, 25, "seeds"), (2.5, 25, "seeds"), (100, 0, "seeds_per_packet")],
)
def test_a_plan_of_impossible_numbers_is_refused_at_the_field(seeds, each, field):
    with pytest.raises(BadInput) as refusal:
        plan_packets(seeds, seeds_per_packet=each)
    assert refusal.value.field == field
