from math import isclose, sqrt

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats
from scipy.optimize import curve_fit

from crosses.calc.errors import BadInput
from crosses.calc.seedcount import count_from_samples, thousand_seed_weight

# Dimorphotheca sinuata, grams per 100 seeds: AOSA Rules appendix 4 tutorial,
# http://www.frsa.org/SAfacts/App4tutorial.html
DIMORPHOTHECA = [0.2224, 0.2134, 0.2130, 0.2116, 0.2145, 0.2071, 0.2116, 0.2125]

# Three samples of 1,000 and the clean seed: invented weights of the demo society.
JAPONICA = [(1000, 0.41), (1000, 0.40), (1000, 0.42)]

WEIGHTS = st.lists(st.floats(0.39, 0.41), min_size=2, max_size=8, unique=True)


def test_three_samples_of_a_thousand_count_the_open_pollinated_lot():
    count = count_from_samples(JAPONICA, 1.72)
    assert (count.seeds, count.rounded) == (4195, 4200)
    assert count.sentence.startswith("about 4,200 seeds (95 % 3,940-4,450; 3 weighed samples")
    assert count.thousand_seed_weight_grams == pytest.approx(0.41)


def test_a_published_weighing_gives_its_seeds_per_gram():
    # 468.9 seeds per gram and 1,172 seeds in 2.50 g follow from the published weights.
    count = count_from_samples([(100, grams) for grams in DIMORPHOTHECA], 2.50)
    assert count.seeds == 1172
    assert count.cv_percent == pytest.approx(2.0145, abs=5e-5)


@given(WEIGHTS, st.floats(1, 50))
def test_equal_samples_have_the_usual_standard_error_and_students_interval(weights, clean):
    count = count_from_samples([(500, grams) for grams in weights], clean)
    of_mean = stats.sem(weights) / np.mean(weights)
    expected = clean / np.mean(weights) * 500
    assert count.standard_error == pytest.approx(expected * of_mean, rel=1e-6)
    low, high = stats.t.interval(0.95, len(weights) - 1, expected, expected * of_mean)
    assert low - 1 <= count.low <= low + 1e-6
    assert high - 1e-6 <= count.high <= high + 1
    assert count.low <= count.seeds <= count.high


@given(st.lists(st.tuples(st.integers(50, 900), st.floats(0.97, 1.03)), min_size=3, max_size=6))
def test_unequal_samples_are_weighed_as_least_squares_weighs_them(drawn):
    samples = [(seeds, seeds * 0.002 * factor) for seeds, factor in drawn]
    assume(len({round(factor, 4) for _, factor in drawn}) > 1)
    seeds = np.array([each[0] for each in samples], dtype=float)
    grams = np.array([each[1] for each in samples])
    fitted, covariance = curve_fit(
        lambda n, weight: weight * n, seeds, grams, p0=[0.002], sigma=np.sqrt(seeds)
    )
    count = count_from_samples(samples, 10.0)
    assert count.thousand_seed_weight_grams == pytest.approx(1000 * fitted[0], rel=1e-5)
    assert count.standard_error / (10.0 / fitted[0]) == pytest.approx(
        sqrt(covariance[0, 0]) / fitted[0], rel=1e-3
    )


@given(WEIGHTS, st.floats(1.5, 3))
def test_twice_the_seed_is_twice_the_count_with_the_same_scatter(weights, clean):
    samples = [(500, grams) for grams in weights]
    once, twice = count_from_samples(samples, clean), count_from_samples(samples, 2 * clean)
    assert abs(twice.seeds - 2 * once.seeds) <= 1
    assert isclose(twice.standard_error, 2 * once.standard_error, rel_tol=1e-9)
    assert twice.cv_percent == once.cv_percent


def test_samples_that_scatter_over_ten_percent_give_no_figure():
    with pytest.raises(BadInput, match="differ too much to count by: 11 %") as refusal:
        count_from_samples([(100, 0.89), (100, 1.00), (100, 1.11)], 5)
    assert refusal.value.field == "samples"
    assert count_from_samples([(100, 0.91), (100, 1.00), (100, 1.09)], 5).seeds == 500


def test_one_sample_gives_a_figure_without_interval_and_says_so():
    count = count_from_samples([(200, 0.31)], 1.7)
    assert (count.seeds, count.rounded) == (1097, 1100)
    assert count.low is count.high is count.standard_error is count.cv_percent is None
    assert "one weighed sample: how far out this may be is not known" in count.sentence


def test_samples_that_weigh_exactly_alike_do_not_claim_to_be_without_error():
    count = count_from_samples([(200, 0.31), (200, 0.31), (200, 0.31)], 1.7)
    assert (count.seeds, count.low, count.high) == (1097, None, None)
    assert "3 samples alike: how far out this may be is not known" in count.sentence


def test_dust_seed_is_shown_to_two_digits_however_well_the_samples_agree():
    count = count_from_samples([(10_000, 0.0500), (10_000, 0.0501), (10_000, 0.0499)], 0.617)
    assert count.thousand_seed_weight_grams == pytest.approx(0.005)
    assert (count.seeds, count.rounded) == (123_400, 120_000)
    assert "95 % 120,000-120,000" in count.sentence


def test_seed_just_heavier_than_dust_is_shown_by_its_standard_error():
    count = count_from_samples([(10_000, 0.2000), (10_000, 0.2001), (10_000, 0.1999)], 2.468)
    assert (count.seeds, count.rounded) == (123_400, 123_400)


@pytest.mark.parametrize(
    ("samples", "clean", "field"),
    [
        ([], 1.0, "samples"),
        ([(0, 0.4)], 1.0, "samples"),
        ([(100, 0.0)], 1.0, "samples"),
        ([(100, float("nan"))], 1.0, "samples"),
        ([(100, 0.4)], 0.0, "clean_grams"),
        ([(100, 0.4)], float("nan"), "clean_grams"),
        ([(100, 0.4)], float("inf"), "clean_grams"),
        ([(100, 0.4)], 0.3, "clean_grams"),
    ],
)
def test_weights_that_cannot_be_are_refused_at_their_field(samples, clean, field):
    with pytest.raises(BadInput) as refusal:
        count_from_samples(samples, clean)
    assert refusal.value.field == field


def test_the_published_replicates_are_accepted_with_their_published_weight():
    result = thousand_seed_weight(DIMORPHOTHECA)
    assert result.thousand_seed_weight_grams == pytest.approx(2.132625)
    assert result.cv_percent == pytest.approx(2.0145, abs=5e-5)
    assert result.is_accepted
    assert "accepted, the limit is 4.0 %" in result.sentence


def test_the_weight_has_the_interval_of_students_t():
    result = thousand_seed_weight(DIMORPHOTHECA)
    tenfold = [10 * grams for grams in DIMORPHOTHECA]
    low, high = stats.t.interval(0.95, 7, np.mean(tenfold), stats.sem(tenfold))
    assert (result.low, result.high) == (pytest.approx(low), pytest.approx(high))


def test_chaffy_seed_may_scatter_to_six_percent_and_other_seed_to_four():
    replicates = [1.00, 0.95, 1.05, 0.95, 1.05, 1.00, 0.94, 1.06]
    assert 4.0 < thousand_seed_weight(replicates).cv_percent < 6.0
    assert not thousand_seed_weight(replicates).is_accepted
    assert "weigh 8 more" in thousand_seed_weight(replicates).sentence
    assert thousand_seed_weight(replicates, is_chaffy=True).is_accepted


def test_after_a_second_weighing_replicates_beyond_twice_the_deviation_are_left_out():
    replicates = [1.0, 1.01, 0.99, 1.0, 1.02, 0.98, 1.0, 1.5] + [1.0, 0.99, 1.01, 1.0] * 2
    result = thousand_seed_weight(replicates)
    kept = [grams for grams in replicates if grams != 1.5]
    assert result.discarded_grams == (1.5,)
    assert result.replicates == 15
    assert result.thousand_seed_weight_grams == pytest.approx(10 * np.mean(kept))
    assert result.is_accepted
    assert "1 of 16 replicates left out" in result.sentence


def test_nothing_is_left_out_of_a_first_weighing():
    result = thousand_seed_weight([1.0] * 7 + [3.0])
    assert (result.replicates, result.discarded_grams) == (8, ())


@pytest.mark.parametrize(
    ("grams", "seeds", "field"),
    [
        ([0.2] * 7, 100, "grams"),
        ([0.2] * 12, 100, "grams"),
        ([0.2] * 7 + [0.0], 100, "grams"),
        ([0.2] * 7 + [float("nan")], 100, "grams"),
        ([0.2] * 8, 0, "seeds_per_replicate"),
    ],
)
def test_replicates_the_method_does_not_know_are_refused(grams, seeds, field):
    with pytest.raises(BadInput) as refusal:
        thousand_seed_weight(grams, seeds)
    assert refusal.value.field == field
