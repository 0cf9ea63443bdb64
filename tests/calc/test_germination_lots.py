"""Two lots over their sowings: what may be claimed, judged by scipy's permutation test."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from crosses.calc.errors import BadInput
from seedbank.calc.germination.lots import compare_lots

FEWER = [(9, 40), (13, 40), (12, 40), (16, 40)]
MORE = [(22, 40), (19, 40), (27, 40)]


def scipys(first, second):
    shares = [[came / sown for came, sown in side] for side in (first, second)]
    return stats.permutation_test(
        shares, lambda one, two: abs(np.mean(one) - np.mean(two)), alternative="greater"
    ).pvalue


def test_of_sowings_of_one_size_the_shares_are_dealt_out_anew():
    found = compare_lots(FEWER, MORE)
    assert found.permuted.p_value == pytest.approx(scipys(FEWER, MORE))
    # 7 sowings, 3 of them of one side: 7 over 3 is 35 ways, and only the one seen is so far apart.
    assert (found.permuted.ways, found.permuted.p_value) == (35, pytest.approx(1 / 35))
    assert "of 35 ways to deal out the sowings, 1 differs as much (p 0.029" in found.sentence


def test_a_sowing_of_three_seeds_turns_less_than_one_of_three_hundred():
    first = [(150, 300), (156, 300), (145, 300)]
    second = [(180, 300), (176, 300), (185, 300)]
    few = compare_lots([*first, (3, 3)], second).permuted.p_value
    many = compare_lots([*first, (300, 300)], second).permuted.p_value
    assert few < 0.06
    assert many > 0.3
    # Share for share, as if each sowing told as much, the three seeds would undo the finding.
    assert scipys([*first, (3, 3)], second) > 0.3


def test_from_fewer_than_three_sowings_a_lot_nothing_is_claimed():
    found = compare_lots(FEWER, MORE[:2])
    assert (found.permuted, found.fisher_p_value, found.comparison.p_value) == (None, None, None)
    assert "no claim is made, since lot and sowing cannot be told apart" in found.sentence


def test_of_one_sowing_each_the_exact_test_tells_of_the_sowings_only():
    found = compare_lots([(78, 120)], [(29, 140)])
    assert found.fisher_p_value == pytest.approx(stats.fisher_exact([[78, 42], [29, 111]]).pvalue)
    assert found.permuted is None
    assert "tells of these two sowings and not of the lots" in found.sentence


@pytest.mark.parametrize("came", [0, 20])
def test_where_none_or_all_came_everywhere_nothing_differs(came):
    alike = [(came, 20)] * 3
    assert compare_lots(alike, alike).permuted.p_value == 1


def test_a_lot_without_seed_is_refused():
    with pytest.raises(BadInput):
        compare_lots([], MORE)


sowings = st.lists(
    st.integers(1, 60).flatmap(lambda sown: st.tuples(st.integers(0, sown), st.just(sown))),
    min_size=3,
    max_size=5,
)


@settings(max_examples=15, deadline=None)
@given(sowings, sowings)
def test_which_lot_is_named_first_makes_no_difference(first, second):
    there, back = compare_lots(first, second), compare_lots(second, first)
    assert there.permuted.p_value == pytest.approx(back.permuted.p_value)
    assert there.comparison.difference.estimate == pytest.approx(
        -back.comparison.difference.estimate
    )
    assert 0 < there.permuted.p_value <= 1
