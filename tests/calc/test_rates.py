import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from crosses.calc.errors import BadInput
from crosses.calc.rates import exact, sentence, too_few, whole_percent, wilson

tries = st.integers(1, 500).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@pytest.mark.parametrize(
    ("x", "n", "low", "high"),
    [
        # Newcombe (1998), Statistics in Medicine 17, 857-872, table I, method 3 (score).
        # Values from memory.
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_agrees_with_the_published_table(x, n, low, high):
    share = wilson(x, n)
    assert (share.low, share.high) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(
    ("x", "n", "low", "high"),
    [
        # The same table, method 5 (Clopper-Pearson). Values from memory.
        (81, 263, 0.2527, 0.3676),
        (15, 148, 0.0578, 0.1617),
        (0, 20, 0.0, 0.1684),
        (1, 29, 0.0009, 0.1776),
    ],
)
def test_exact_agrees_with_the_published_table(x, n, low, high):
    share = exact(x, n)
    assert (share.low, share.high) == pytest.approx((low, high), abs=5e-5)


@given(tries, st.sampled_from([0.8, 0.95, 0.99]))
@settings(deadline=None)
def test_both_intervals_agree_with_scipy(counted, confidence):
    x, n = counted
    for ours, method in ((wilson, "wilson"), (exact, "exact")):
        theirs = stats.binomtest(x, n).proportion_ci(confidence, method=method)
        share = ours(x, n, confidence)
        assert (share.low, share.high) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


@given(tries)
@settings(deadline=None)
def test_an_interval_holds_its_own_estimate(counted):
    for share in (wilson(*counted), exact(*counted)):
        assert 0 <= share.low <= share.estimate <= share.high <= 1


@given(tries)
@settings(deadline=None)
def test_counting_the_failures_instead_mirrors_the_interval(counted):
    x, n = counted
    for method in (wilson, exact):
        came, failed = method(x, n), method(n - x, n)
        assert came.low == pytest.approx(1 - failed.high, abs=1e-9)


def test_none_and_all_reach_the_very_end():
    assert wilson(0, 20).low == exact(0, 20).low == 0
    assert wilson(20, 20).high == exact(20, 20).high == 1


def test_nothing_tried_has_no_estimate_and_any_share_is_possible():
    for share in (wilson(0, 0), exact(0, 0)):
        assert share.estimate is None
        assert (share.low, share.high) == (0, 1)
    assert sentence(wilson(0, 0)) == "nothing tried yet"


@pytest.mark.parametrize(
    ("x", "n", "written"),
    [
        (4, 24, "4 of 24 = 17 % (7-36 %)"),
        (0, 10, "0 of 10 = 0 % (0-28 %)"),
        (18, 20, "18 of 20 = 90 % (70-97 %)"),
        (21, 39, "21 of 39 = 54 % (39-68 %)"),
        (78, 120, "78 of 120 = 65 % (56-73 %)"),
        (29, 140, "29 of 140 = 21 % (15-28 %)"),
    ],
)
def test_a_share_is_written_with_its_count_and_interval(x, n, written):
    assert sentence(wilson(x, n)) == written


def test_not_quite_none_is_never_written_as_none():
    assert "under 1 %" in sentence(wilson(1, 300))
    assert "over 99 %" in sentence(wilson(299, 300))
    assert sentence(wilson(300, 300)).startswith("300 of 300 = 100 %")


def test_half_a_percent_rounds_up():
    assert whole_percent(0.125) == 13
    assert sentence(wilson(1, 8)).startswith("1 of 8 = 13 %")


def test_nine_are_too_few_and_ten_are_not():
    assert too_few(0)
    assert too_few(9)
    assert not too_few(10)


@pytest.mark.parametrize(
    ("x", "n", "confidence", "field"),
    [
        (3, 2, 0.95, "x"),
        (-1, 2, 0.95, "x"),
        (0, -2, 0.95, "n"),
        (1.5, 2, 0.95, "x"),
        (1, "two", 0.95, "n"),
        (1, 2, 1.0, "confidence"),
        (1, 2, 0.0, "confidence"),
    ],
)
def test_an_impossible_count_is_refused_at_its_field(x, n, confidence, field):
    for method in (wilson, exact):
        with pytest.raises(BadInput) as refusal:
            method(x, n, confidence)
        assert refusal.value.field == field


def test_counts_from_an_array_are_taken():
    assert wilson(np.int64(18), np.int64(20)) == wilson(18, 20)
