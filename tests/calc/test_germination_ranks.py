"""Courses compared by ranks and by dealing out pots, held against scipy and a published example."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from crosses.calc.errors import BadInput
from seedbank.calc.germination.counts import read_counts
from seedbank.calc.germination.ranks import (
    generalised_wilcoxon,
    permutation_test,
    permute_pots,
    rank_test,
)
from tests.calc.interval_data import RADIOTHERAPY, WITH_CHEMOTHERAPY, interval_data


def test_the_published_answer_of_the_standard_example_is_met():
    # Fay and Shaw (2010), Journal of Statistical Software 36(2), Wilcoxon scores in permutation
    # form: Z = -2.1672, p = 0.03022. Values from memory.
    found = rank_test(interval_data(RADIOTHERAPY), interval_data(WITH_CHEMOTHERAPY))
    assert round(found.z, 4) == -2.1672
    assert round(found.p_value, 5) == 0.03022


@st.composite
def two_pots(draw):
    days = np.cumsum(draw(st.lists(st.integers(1, 9), min_size=1, max_size=5))).tolist()

    def pot():
        new = draw(st.lists(st.integers(0, 9), min_size=len(days), max_size=len(days)))
        return read_counts(max(1, sum(new) + draw(st.integers(0, 9))), days, new)

    return pot(), pot()


def as_ranks(counts):
    left = counts.sown - counts.germinated
    return np.repeat(np.arange(len(counts.new) + 1), [*counts.new, left])


@given(two_pots())
@settings(max_examples=40, deadline=None)
def test_with_one_schedule_it_is_the_mann_whitney_test(pots):
    first, second = map(as_ranks, pots)
    assume(len(set(first) | set(second)) > 1)
    found = generalised_wilcoxon(*pots)
    theirs = stats.mannwhitneyu(second, first, method="asymptotic", use_continuity=False)
    assert found.p_value == pytest.approx(theirs.pvalue, abs=1e-4)
    assert found.sooner == pytest.approx(theirs.statistic / (len(first) * len(second)), abs=1e-4)


@given(two_pots())
@settings(max_examples=20, deadline=None)
def test_the_sides_may_be_exchanged(pots):
    there, back = generalised_wilcoxon(*pots), generalised_wilcoxon(*pots[::-1])
    assert there.sooner == pytest.approx(1 - back.sooner)
    assert there.p_value == (None if back.p_value is None else pytest.approx(back.p_value))


def test_pots_looked_at_on_other_days_are_compared_all_the_same():
    sooner = read_counts(50, [7, 14, 21], [20, 10, 2])
    later = read_counts(50, [9, 17, 24], [4, 15, 11])
    found = generalised_wilcoxon(sooner, later)
    assert found.sooner > 0.5
    assert "generalised Wilcoxon" in found.sentence


def test_one_interval_for_all_is_no_comparison():
    found = generalised_wilcoxon(read_counts(5, [7], [5]), read_counts(5, [7], [5]))
    assert (found.sooner, found.p_value) == (0.5, None)


@given(
    st.lists(st.integers(0, 20), min_size=2, max_size=4),
    st.lists(st.integers(0, 20), min_size=2, max_size=4),
)
@settings(max_examples=40, deadline=None)
def test_all_ways_to_deal_out_the_pots_are_those_of_scipy(first, second):
    def apart(one, two):
        return abs(np.mean(one) - np.mean(two))

    theirs = stats.permutation_test((first, second), apart, alternative="greater", n_resamples=1e5)
    assert permutation_test(first, second).p_value == pytest.approx(theirs.pvalue)


def test_many_pots_go_by_the_normal_law():
    first, second = [0.1 * n for n in range(12)], [0.1 * n + 0.3 for n in range(12)]
    found = permutation_test(first, second)
    assert not found.is_exact
    few = permutation_test(first[:9], second[:9])
    assert few.is_exact
    assert found.p_value < few.p_value + 0.1


def test_three_pots_against_three_say_that_no_less_is_possible():
    first = [read_counts(20, [7, 14], new) for new in ([9, 9], [10, 8], [9, 8])]
    second = [read_counts(20, [8, 14], new) for new in ([1, 4], [2, 3], [0, 6])]
    found = permute_pots(first, second)
    # By hand: 6 choose 3 is 20, and only the two ways that split them so differ as much.
    assert (found.ways, found.p_value) == (20, 0.1)
    assert "the least there can be" in found.sentence


@pytest.mark.parametrize(
    ("first", "second", "field"), [([], [1.0], "first"), ([1.0], [], "second")]
)
def test_a_side_without_pots_is_refused(first, second, field):
    with pytest.raises(BadInput) as refusal:
        permutation_test(first, second)
    assert refusal.value.field == field
