import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from crosses.calc.errors import BadInput
from crosses.calc.rates import wilson
from seedbank.calc.germination.betabinomial import (
    fit_common_scatter,
    fit_scatter_at,
    log_likelihood,
    tally,
)
from seedbank.calc.germination.expectation import expect_next_sowing
from seedbank.calc.germination.pool import pool_sowings, pooled_share
from seedbank.calc.germination.sowingplan import seeds_to_sow

SCATTERED = [(2, 20), (15, 20), (9, 25), (19, 20), (6, 30), (11, 15)]
ALIKE = [(10, 20), (11, 20), (9, 20), (10, 20)]

histories = st.lists(
    st.tuples(st.integers(0, 20), st.integers(0, 20)).filter(lambda pair: sum(pair) > 0),
    min_size=1,
    max_size=6,
).map(lambda pairs: [(came, came + failed) for came, failed in pairs])


@given(histories, st.floats(0.05, 0.95), st.floats(0.01, 0.6))
@settings(deadline=None)
def test_the_likelihood_is_that_of_the_beta_binomial_law(history, mean, rho):
    size = (1 - rho) / rho
    law = [stats.betabinom(sown, size * mean, size * (1 - mean)) for _, sown in history]
    expected = sum(one.logpmf(came) for one, (came, _) in zip(law, history, strict=True))
    ways = sum(math.log(math.comb(sown, came)) for came, sown in history)
    ours = log_likelihood(np.array(mean), np.array(rho / (1 - rho)), tally(history))
    assert float(ours) + ways == pytest.approx(expected, rel=1e-7, abs=1e-7)


@given(histories, st.floats(0.05, 0.95))
@settings(deadline=None)
def test_without_scatter_the_likelihood_is_the_binomial_one(history, mean):
    came, sown = sum(x for x, _ in history), sum(n for _, n in history)
    ours = log_likelihood(np.array(mean), np.array(0.0), tally(history))
    assert float(ours) == pytest.approx(came * math.log(mean) + (sown - came) * math.log1p(-mean))


@given(histories)
@settings(deadline=None, max_examples=40)
def test_no_mean_and_scatter_near_by_are_likelier(history):
    counted = tally(history)
    fitted = fit_common_scatter([counted])
    for mean in (0.98, 1.0, 1.02):
        for rho in (0.98, 1.0, 1.02):
            near_mean = min(max(fitted.means[0] * mean, 1e-12), 1 - 1e-12)
            near_rho = min(max(fitted.rho * rho, 0.0), 0.999)
            near = log_likelihood(np.array(near_mean), np.array(near_rho / (1 - near_rho)), counted)
            assert float(near) <= fitted.log_likelihood + 1e-6


def test_holding_the_mean_at_its_best_finds_the_same_scatter():
    counted = tally(SCATTERED)
    free = fit_common_scatter([counted])
    held = fit_scatter_at(free.means[0], counted)
    assert held.rho == pytest.approx(free.rho, rel=1e-3)
    assert held.log_likelihood == pytest.approx(free.log_likelihood, abs=1e-8)


@given(histories, st.floats(0.02, 0.98))
@settings(deadline=None, max_examples=40)
def test_with_the_mean_held_no_scatter_tried_by_another_searcher_is_likelier(history, mean):
    counted = tally(history)

    def cost(rho: float) -> float:
        return -float(log_likelihood(np.array(mean), np.array(rho / (1 - rho)), counted))

    ends = [(0.0, 0.1), (0.1, 0.4), (0.4, 0.999)]
    found = [optimize.minimize_scalar(cost, bounds=part, method="bounded").fun for part in ends]
    held = fit_scatter_at(mean, counted)
    assert -held.log_likelihood <= min(found) + 1e-6
    assert 0 <= held.rho < 1


@given(histories)
@settings(deadline=None, max_examples=20)
def test_the_mean_alone_is_that_of_the_whole_reckoning(history):
    share, pooled = pooled_share(history), pool_sowings(history)
    assert (share.estimate, share.low, share.high) == (
        pooled.mean,
        pooled.mean_low,
        pooled.mean_high,
    )
    assert (share.x, share.n) == (pooled.came, pooled.sown)
    assert (share.method == "wilson") == pooled.is_binomial


def test_a_mean_over_no_seed_is_refused():
    with pytest.raises(BadInput, match="no seeds"):
        pooled_share([(0, 0)])
    with pytest.raises(BadInput, match="fraction between 0 and 1"):
        pooled_share([(1, 2)], confidence=95)


def test_sowings_that_scatter_widen_both_intervals():
    pooled = pool_sowings(SCATTERED)
    plain = wilson(pooled.came, pooled.sown)
    assert pooled.rho > 0.1
    assert not pooled.is_binomial
    assert pooled.mean_high - pooled.mean_low > plain.high - plain.low
    assert pooled.next_high - pooled.next_low > pooled.mean_high - pooled.mean_low
    assert "differ more than by chance" in pooled.sentence


def test_sowings_alike_fall_back_to_one_lot_and_say_so():
    pooled = pool_sowings(ALIKE)
    plain = wilson(40, 80)
    assert (pooled.is_binomial, pooled.rho) == (True, 0)
    assert (pooled.mean_low, pooled.mean_high) == (plain.low, plain.high)
    assert pooled.sentence.startswith("50 % on average (39-61 %) from 40 of 80 seeds in 4 sowings")
    assert "counted as one lot" in pooled.sentence


def test_one_sowing_says_nothing_of_scatter():
    pooled = pool_sowings([(18, 20)])
    assert "One sowing only" in pooled.basis
    assert pooled.next_low < pooled.mean_low


def test_none_in_any_sowing_is_not_never():
    none = pool_sowings([(0, 10), (0, 10), (0, 10)])
    assert (none.mean, none.mean_low) == (0, 0)
    assert none.mean_high > wilson(0, 30).high
    every = pool_sowings([(10, 10), (10, 10), (10, 10)])
    assert (every.mean, every.mean_high) == (1, 1)
    assert every.mean_low == pytest.approx(1 - none.mean_high, abs=1e-6)


@given(histories)
@settings(deadline=None, max_examples=40)
def test_intervals_hold_the_mean_and_mirror_when_failures_are_counted(history):
    pooled = pool_sowings(history)
    mirrored = pool_sowings([(sown - came, sown) for came, sown in history])
    assert 0 <= pooled.mean_low <= pooled.mean <= pooled.mean_high <= 1
    assert pooled.mean == pytest.approx(1 - mirrored.mean, abs=1e-3)
    assert pooled.next_low == pytest.approx(1 - mirrored.next_high, abs=1e-3)


def test_sowings_without_seed_are_passed_over():
    assert pool_sowings([(0, 0), *ALIKE]) == pool_sowings(ALIKE)


def test_an_empty_history_is_refused():
    with pytest.raises(BadInput, match="no seeds"):
        pool_sowings([(0, 0)])
    with pytest.raises(BadInput, match="fraction"):
        pool_sowings(ALIKE, 1.0)


def test_with_no_history_any_share_may_come():
    coming = expect_next_sowing([])
    assert coming.mean() == pytest.approx(0.5)
    assert coming.quantile(0.1) < 0.12
    assert coming.quantile(0.9) > 0.88


def test_a_long_even_history_leaves_the_next_sowing_near_the_mean():
    coming = expect_next_sowing([(80, 100)] * 60)
    assert coming.mean() == pytest.approx(0.8, abs=0.005)
    assert coming.quantile(0.1) > 0.76


def test_the_expectation_does_not_hang_on_its_grid(monkeypatch):
    coarse = expect_next_sowing(SCATTERED)
    monkeypatch.setattr("seedbank.calc.germination.expectation.FINE_POINTS", (480, 160))
    fine = expect_next_sowing(SCATTERED)
    for probability in (0.025, 0.1, 0.5, 0.9, 0.975):
        assert coarse.quantile(probability) == pytest.approx(fine.quantile(probability), abs=1e-3)


@given(st.integers(1, 20), st.integers(20, 60))
@settings(deadline=None)
def test_the_chance_of_seedlings_is_the_beta_binomial_tail(seedlings, seeds):
    coming = expect_next_sowing([(9, 20), (14, 20)])
    by_law = stats.betabinom(seeds, coming.alpha, coming.beta).sf(seedlings - 1)
    assert coming.chance_of_at_least(seedlings, seeds) == pytest.approx(
        float(coming.weights @ by_law), abs=1e-9
    )


@pytest.mark.parametrize(
    ("share", "for_one", "for_five"),
    # Seeds for at least 1 and at least 5 seedlings at 95 %; the next test holds them to scipy.
    [(0.25, 11, 34), (0.40, 6, 21), (0.60, 4, 13), (0.80, 2, 9)],
)
def test_a_known_share_needs_the_tabled_number_of_seeds(share, for_one, for_five):
    assert seeds_to_sow(1, 0.95, share).seeds == for_one
    assert seeds_to_sow(5, 0.95, share).seeds == for_five


@given(st.integers(1, 20), st.sampled_from([0.5, 0.8, 0.95]), st.floats(0.05, 1.0))
@settings(deadline=None)
def test_one_seed_less_would_not_be_enough(seedlings, confidence, share):
    plan = seeds_to_sow(seedlings, confidence, share)
    assert plan.chance == pytest.approx(stats.binom.sf(seedlings - 1, plan.seeds, share))
    assert plan.chance >= confidence - 1e-9
    assert stats.binom.sf(seedlings - 1, plan.seeds - 1, share) < confidence + 1e-9


def test_a_share_from_few_seeds_asks_for_more_than_one_from_many():
    known = seeds_to_sow(5, 0.95, 0.5).seeds
    from_many = seeds_to_sow(5, 0.95, wilson(500, 1000)).seeds
    from_few = seeds_to_sow(5, 0.95, wilson(5, 10)).seeds
    from_none = seeds_to_sow(5, 0.95, wilson(0, 0)).seeds
    assert known <= from_many < from_few < from_none


def test_sowings_that_scatter_ask_for_more_seed_than_sowings_alike():
    alike, unlike = (
        expect_next_sowing(ALIKE),
        expect_next_sowing([(1, 20), (19, 20), (3, 20), (17, 20)]),
    )
    assert seeds_to_sow(5, 0.9, unlike).seeds > seeds_to_sow(5, 0.9, alike).seeds


def test_a_share_of_nothing_counted_predicts_by_the_rule_of_succession():
    # Laplace: with any share as likely as any other, at least one of N comes with N / (N + 1).
    assert seeds_to_sow(1, 0.95, wilson(0, 0)).seeds == 19


def test_the_plan_says_what_it_rests_on():
    assert seeds_to_sow(5, 0.95, 0.25).sentence == (
        "Sow 34 for at least 5 seedlings in 95 of 100 such sowings; taking 25 % as known."
    )
    assert "allowing for what 5 of 20 leaves open" in seeds_to_sow(1, 0.9, wilson(5, 20)).sentence
    assert "as sowings have varied" in seeds_to_sow(1, 0.9, expect_next_sowing(ALIKE)).sentence


@pytest.mark.parametrize(
    ("seedlings", "confidence", "share", "field"),
    [
        (0, 0.95, 0.5, "seedlings"),
        (2.5, 0.95, 0.5, "seedlings"),
        (5, 1.0, 0.5, "confidence"),
        (5, 0.95, 0.0, "share"),
        (5, 0.95, 1.2, "share"),
        (5, 0.95, 1e-9, "share"),
    ],
)
def test_a_plan_that_cannot_be_kept_is_refused(seedlings, confidence, share, field):
    with pytest.raises(BadInput) as refusal:
        seeds_to_sow(seedlings, confidence, share)
    assert refusal.value.field == field
