import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crosses.calc.errors import BadInput
from seedbank.calc.germination.counts import merge_looks, read_counts


def test_running_totals_become_new_counts():
    counts = read_counts(20, [7, 14, 21], [3, 9, 9], kind="total")
    assert counts.new.tolist() == [3, 6, 0]
    assert counts.totals.tolist() == [3, 9, 9]
    assert counts.days_before.tolist() == [0, 7, 14]


@pytest.mark.parametrize(
    ("sown", "days", "counts", "kind", "field", "says"),
    [
        (0, [7], [0], "new", "sown", "at least one seed"),
        (2.5, [7], [0], "new", "sown", "whole"),
        (20, [], [], "new", "days", "Nobody has looked"),
        (20, [7, 14], [1], "new", "counts", "2 days but 1 counts"),
        (20, [0, 7], [0, 1], "new", "days", "after the day of sowing"),
        (20, [-3], [0], "new", "days", "after the day of sowing"),
        (20, [7, 7], [1, 1], "new", "days", "Day 7 stands after day 7"),
        (20, [14, 7], [1, 1], "new", "days", "put the looks in order"),
        (20, [math.nan], [1], "new", "days", "number of days"),
        (20, [math.inf], [1], "new", "days", "number of days"),
        (20, ["monday"], [1], "new", "days", "number of days"),
        (20, [7], [-1], "new", "counts", "below nought"),
        (20, [7], [1.5], "new", "counts", "whole seedlings"),
        (20, [7], [math.nan], "new", "counts", "whole seedlings"),
        (20, [7], [21], "new", "counts", "21 came up of 20 sown"),
        (20, [7, 14], [15, 18], "new", "counts", "Were these running totals"),
        (20, [7, 14], [9, 4], "total", "counts", "falls from 9 on day 7 to 4 on day 14"),
        (20, [7, 14], [9, 25], "total", "counts", "25 came up of 20 sown: that is too many.$"),
        (20, [7], [1], "sometimes", "kind", "new"),
    ],
)
def test_counts_that_cannot_be_true_are_refused_at_their_field(
    sown, days, counts, kind, field, says
):
    with pytest.raises(BadInput, match=says) as refusal:
        read_counts(sown, days, counts, kind)
    assert refusal.value.field == field


def test_the_callers_arrays_are_left_alone_and_ours_cannot_be_written():
    days = np.array([7.0, 14.0])
    counts = read_counts(20, days, [1, 1])
    days[0] = 99
    assert counts.days[0] == 7
    with pytest.raises(ValueError, match="read-only"):
        counts.new[0] = 5


looks = st.lists(st.tuples(st.integers(1, 9), st.integers(0, 5)), min_size=1, max_size=12)


@given(looks.flatmap(lambda rows: st.tuples(st.just(rows), st.permutations(rows))))
@settings(deadline=None)
def test_the_order_of_rows_within_a_day_or_between_days_changes_nothing(rows_and_shuffled):
    rows, shuffled = rows_and_shuffled
    days, counts = merge_looks(rows)
    assert (days, counts) == merge_looks(shuffled)
    assert days == sorted(set(days))
    assert sum(counts) == sum(newly_seen for _, newly_seen in rows)
