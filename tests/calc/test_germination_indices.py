import math
from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crosses.calc.errors import BadInput
from seedbank.calc.germination.counts import merge_looks, read_counts
from seedbank.calc.germination.indices import GerminationIndices, describe
from seedbank.calc.germination.many import ManyIndices, describe_many

# Two worked examples printed in the public reference pages of an open R library of germination
# indices; the formulas are those of the papers named in GerminationIndices.
FIFTY_SEEDS = read_counts(50, range(1, 15), [0, 0, 0, 0, 4, 17, 10, 7, 1, 0, 1, 0, 0, 0])
TWO_HUNDRED_SEEDS = read_counts(
    200, range(1, 21), [0, 0, 34, 40, 21, 10, 4, 5, 3, 5, 8, 7, 7, 6, 6, 4, 0, 2, 0, 2]
)


@st.composite
def sowings(draw, most_looks=8):
    days = np.cumsum(draw(st.lists(st.integers(1, 14), min_size=1, max_size=most_looks)))
    new = draw(st.lists(st.integers(0, 30), min_size=len(days), max_size=len(days)))
    spare = draw(st.integers(0, 40))
    return read_counts(max(1, sum(new) + spare), days.tolist(), new)


@pytest.mark.parametrize(
    ("index", "published"),
    [
        ("mean_germination_time_days", 6.7),
        ("variance_days2", 1.446154),
        ("standard_error_days", 0.1901416),
        ("coefficient_of_variation", 0.1794868),
        ("mean_rate_per_day", 0.1492537),
        ("coefficient_of_velocity", 14.92537),
        ("median_time_coolbear_days", 5.970588),
        ("median_time_farooq_days", 5.941176),
        ("speed_maguire_per_day", 6.138925),
        ("mean_daily_percent", 5.714286),
        ("uncertainty_bits", 2.062987),
        ("synchrony", 0.2666667),
        ("uniformity_per_day2", 0.7092199),
        ("timson", 664),
        ("first_day", 5),
        ("last_day", 11),
        ("spread_days", 6),
        ("peak_days", (6,)),
    ],
)
def test_fifty_seeds_give_the_published_numbers(index, published):
    assert getattr(describe(FIFTY_SEEDS), index) == pytest.approx(published, rel=5e-7)


def test_fifty_seeds_came_up_to_eighty_percent():
    assert describe(FIFTY_SEEDS).final_share.estimate == 0.8


@pytest.mark.parametrize(
    ("index", "published"),
    [
        ("peak_value", 9.5),
        ("germination_value_czabator", 38.95),
        ("germination_value_djavanshir_pourbeik", 53.36595),
    ],
)
def test_two_hundred_seeds_give_the_published_germination_values(index, published):
    assert getattr(describe(TWO_HUNDRED_SEEDS), index) == pytest.approx(published, rel=2e-7)


def test_running_totals_describe_the_same_sowing_as_new_counts():
    totals = read_counts(
        50, range(1, 15), [0, 0, 0, 0, 4, 21, 31, 38, 39, 39, 40, 40, 40, 40], kind="total"
    )
    assert describe(totals) == describe(FIFTY_SEEDS)


def test_a_count_that_equals_the_target_gives_that_day():
    # By hand: 5 of 9 is the Coolbear target of nine and stands on day 6 itself; a count of 4
    # is the Farooq target of eight.
    assert describe(read_counts(9, [3, 6, 9], [2, 3, 4])).median_time_coolbear_days == 6
    assert describe(read_counts(8, [3, 6, 9], [1, 3, 4])).median_time_farooq_days == 6
    assert describe(read_counts(8, [3, 6, 9], [1, 3, 4])).median_time_of_all_sown_days == 6


def test_a_plateau_at_the_target_gives_its_first_day():
    assert describe(read_counts(8, [3, 6, 9, 12], [1, 3, 0, 4])).median_time_farooq_days == 6


def test_the_median_of_those_that_came_is_not_the_median_of_all_sown():
    few = describe(read_counts(100, [7, 14], [20, 10]))
    assert few.median_time_farooq_days == pytest.approx(7 * 15 / 20)
    assert few.median_time_of_all_sown_days is None


def test_nothing_up_has_a_share_but_no_times():
    nothing = describe(read_counts(20, [7, 14], [0, 0]))
    assert nothing.final_share.estimate == 0
    assert nothing.final_share.high > 0.1
    without_value = {
        field.name for field in fields(nothing) if getattr(nothing, field.name) is None
    }
    assert without_value == {
        "mean_germination_time_days",
        "mean_germination_time_lower_days",
        "variance_days2",
        "standard_error_days",
        "coefficient_of_variation",
        "mean_rate_per_day",
        "mean_rate_variance_per_day2",
        "coefficient_of_velocity",
        "median_time_coolbear_days",
        "median_time_farooq_days",
        "median_time_of_all_sown_days",
        "uncertainty_bits",
        "synchrony",
        "uniformity_per_day2",
        "first_day",
        "last_day",
        "spread_days",
    }
    assert nothing.peak_days == ()


def test_one_seedling_has_a_day_but_no_spread():
    one = describe(read_counts(20, [7, 14], [0, 1]))
    assert one.mean_germination_time_days == 14
    assert one.uncertainty_bits == 0
    assert (one.variance_days2, one.standard_error_days, one.synchrony) == (None, None, None)
    assert one.uniformity_per_day2 is None


def test_all_on_one_day_are_wholly_synchronous():
    together = describe(read_counts(20, [0.1, 0.3], [0, 7]))
    assert (together.variance_days2, together.uncertainty_bits, together.synchrony) == (0, 0, 1)
    assert together.uniformity_per_day2 is None


def test_uneven_looks_carry_a_note_on_timson():
    assert describe(FIFTY_SEEDS).timson_note == ""
    assert "evenly" in describe(read_counts(9, [7, 14, 28], [1, 1, 1])).timson_note


def test_melville_weighs_early_seedlings_by_the_days_left():
    # By hand: (2 x 14 + 4 x 7 + 2 x 0) / 10.
    assert describe(
        read_counts(10, [7, 14, 21], [2, 4, 2])
    ).melville_germination_index_days == pytest.approx(5.6)


@given(sowings())
@settings(deadline=None)
def test_the_true_mean_lies_between_the_two_means(counts):
    indices = describe(counts)
    if counts.germinated:
        assert indices.mean_germination_time_lower_days < indices.mean_germination_time_days
        assert indices.first_day <= indices.mean_germination_time_days + 1e-9
        assert indices.mean_germination_time_days <= indices.last_day + 1e-9


@given(sowings())
@settings(deadline=None)
def test_a_look_at_which_nothing_came_moves_no_time(counts):
    later = read_counts(
        counts.sown, [*counts.days.tolist(), counts.days[-1] + 3], [*counts.new.tolist(), 0]
    )
    before, after = describe(counts), describe(later)
    assert before.final_share == after.final_share
    assert before.peak_days == after.peak_days
    for index in (
        "mean_germination_time_days",
        "variance_days2",
        "median_time_coolbear_days",
        "uncertainty_bits",
        "synchrony",
        "speed_maguire_per_day",
        "peak_value",
    ):
        assert getattr(before, index) == pytest.approx(getattr(after, index))
    assert after.mean_daily_percent <= before.mean_daily_percent


@given(sowings(), st.sampled_from([2, 4, 0.5]))
@settings(deadline=None)
def test_counting_in_another_unit_of_time_rescales_every_time(counts, factor):
    # Powers of two, so that the scaling itself is exact.
    scaled = describe(read_counts(counts.sown, counts.days * factor, counts.new))
    plain = describe(counts)
    assert (scaled.uncertainty_bits, scaled.synchrony) == (plain.uncertainty_bits, plain.synchrony)
    if counts.germinated:
        assert scaled.median_time_coolbear_days == plain.median_time_coolbear_days * factor
        assert scaled.mean_germination_time_days == plain.mean_germination_time_days * factor


@given(
    st.lists(st.tuples(st.integers(1, 9), st.integers(0, 5)), min_size=1, max_size=12).flatmap(
        lambda rows: st.tuples(st.just(rows), st.permutations(rows))
    )
)
@settings(deadline=None)
def test_the_order_in_which_counts_were_typed_changes_nothing(rows_and_shuffled):
    rows, shuffled = rows_and_shuffled
    sown = 1 + sum(new for _, new in rows)
    as_typed = read_counts(sown, *merge_looks(rows))
    assert describe(as_typed) == describe(read_counts(sown, *merge_looks(shuffled)))


@given(st.lists(sowings(), min_size=1, max_size=6))
@settings(deadline=None)
def test_many_at_once_agree_with_one_at_a_time(several):
    offsets = np.cumsum([0, *(len(counts.days) for counts in several)])
    many = describe_many(
        [counts.sown for counts in several],
        offsets,
        np.concatenate([counts.days for counts in several]),
        np.concatenate([counts.new for counts in several]),
    )
    singles = [describe(counts) for counts in several]
    for name in _shared_fields():
        one_by_one = [math.nan if (v := getattr(s, name)) is None else v for s in singles]
        np.testing.assert_allclose(getattr(many, name), one_by_one, rtol=1e-9, atol=1e-9)
    for end in ("low", "high"):
        np.testing.assert_allclose(
            getattr(many, f"final_share_{end}"), [getattr(s.final_share, end) for s in singles]
        )
        np.testing.assert_allclose(
            getattr(many, f"final_share_exact_{end}"),
            [getattr(s.final_share_exact, end) for s in singles],
            atol=1e-12,
        )
    assert many.final_share.tolist() == [s.final_share.estimate for s in singles]
    assert many.has_equal_gaps.tolist() == [not s.timson_note for s in singles]


def _shared_fields():
    one = {field.name for field in fields(GerminationIndices)} - {"final_share"}
    return sorted(one & {field.name for field in fields(ManyIndices)})


def test_no_sowings_give_empty_arrays():
    assert describe_many([], [0], [], []).final_share.shape == (0,)


@pytest.mark.parametrize(
    ("sown", "offsets", "days", "counts", "field", "says"),
    [
        ([5, 0], [0, 1, 2], [7, 7], [1, 0], "sown", "Sowing 1"),
        ([5, 5], [0, 1, 2], [7, 7], [1, 6], "counts", "Sowing 1: more came up"),
        ([5, 5], [0, 2, 3], [7, 7, 7], [1, 1, 1], "days", "Sowing 0"),
        ([5], [0, 1], [0], [1], "days", "Sowing 0"),
        ([5], [0, 1], [math.nan], [1], "days", "Sowing 0"),
        ([5], [0, 1], [7], [-1], "counts", "below nought"),
        ([5], [0, 1], [7], [1.5], "counts", "whole"),
        ([5, 5], [0, 1, 1], [7], [1], "offsets", "Sowing 1: nobody has looked"),
        ([5], [0, 2], [7], [1], "offsets", "offsets run"),
        ([5], [0, 1], [7], [1, 1], "counts", "one day and one count"),
    ],
)
def test_many_refuse_the_first_sowing_that_cannot_be_true(sown, offsets, days, counts, field, says):
    with pytest.raises(BadInput, match=says) as refusal:
        describe_many(sown, offsets, days, counts)
    assert refusal.value.field == field
