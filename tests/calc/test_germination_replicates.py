import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from crosses.calc.errors import BadInput
from seedbank.calc.germination.replicates import check_replicates, check_two_tests, heterogeneity
from seedbank.calc.germination.tolerance import maximum_difference, maximum_range

# 7 CFR 201.55 (2015 edition), typed again row by row: average, its complement, four, two.
PUBLISHED_RANGES = """
99 2 5 -
98 3 6 -
97 4 7 6
96 5 8 6
95 6 9 7
94 7 10 8
93 8 10 8
92 9 11 9
91 10 11 9
90 11 12 9
89 12 12 10
88 13 13 10
87 14 13 11
86 15 14 11
85 16 14 11
84 17 14 11
83 18 15 12
82 19 15 12
81 20 15 12
80 21 16 13
79 22 16 13
78 23 16 13
77 24 17 13
76 25 17 13
75 26 17 14
74 27 17 14
73 28 17 14
72 29 18 14
71 30 18 14
70 31 18 14
69 32 18 14
68 33 18 15
67 34 18 15
66 35 19 15
61 40 19 15
56 45 19 15
55 46 20 15
54 47 20 16
53 48 20 16
52 49 20 16
51 50 20 16
"""


@pytest.mark.parametrize("row", PUBLISHED_RANGES.split("\n")[1:-1])
def test_the_table_is_the_published_one(row):
    average, complement, among_four, among_two = row.split()
    for percent in (int(average), int(complement)):
        assert maximum_range(percent, 4) == int(among_four)
        assert maximum_range(percent, 2) == (None if among_two == "-" else int(among_two))


def test_every_average_from_2_to_99_has_a_row_and_no_other():
    assert [p for p in range(101) if maximum_range(p, 4) is None] == [0, 1, 100]
    assert [p for p in range(101) if maximum_difference(p) is None] == [0, 1, 100]


@given(st.integers(2, 99))
@settings(deadline=None)
def test_complements_are_tolerated_alike(average):
    assert maximum_range(average, 4) == maximum_range(101 - average, 4)
    assert maximum_difference(average) == maximum_difference(101 - average)


@given(st.integers(51, 98))
@settings(deadline=None)
def test_more_is_tolerated_towards_the_middle(average):
    assert maximum_range(average, 4) >= maximum_range(average + 1, 4)
    assert maximum_difference(average) >= maximum_difference(average + 1)


@pytest.mark.parametrize(
    ("percents", "average", "spread", "tolerated", "verdict"),
    [
        # Reckoned by hand from the table; a half is rounded up.
        ([96, 92, 90, 88], 92, 8, 11, "accept"),
        ([99, 90, 88, 85], 91, 14, 11, "retest"),
        ([97, 97, 97, 90], 95, 7, 9, "accept"),
        ([95, 86], 91, 9, 9, "accept"),
        ([96, 86], 91, 10, 9, "retest"),
        ([99, 98], 99, 1, None, "not in table"),
        ([100, 100, 100, 100], 100, 0, None, "not in table"),
        ([0, 1, 0, 0], 0, 1, None, "not in table"),
    ],
)
def test_replicates_are_held_against_the_table(percents, average, spread, tolerated, verdict):
    check = check_replicates(percents)
    assert check.average_percent == average
    assert check.spread_percent == spread
    assert check.tolerated_percent == tolerated
    assert check.verdict == verdict


def test_small_replicates_get_an_interval_and_no_verdict():
    check = check_replicates([80, 72, 88], seeds_each=25)
    assert check.verdict == "interval instead"
    assert check.tolerated_percent is None
    assert (check.share.x, check.share.n) == (60, 75)
    assert check.sentence.startswith("60 of 75 = 80 % (")


def test_three_replicates_of_a_hundred_are_not_in_the_rule():
    assert check_replicates([90, 91, 92]).verdict == "interval instead"


def test_half_percents_of_200_seeds_are_whole_seeds():
    check = check_replicates([90.5, 91], seeds_each=200)
    assert check.share.x == 181 + 182


@pytest.mark.parametrize(
    ("percents", "seeds_each", "field"),
    [
        ([], 100, "percents"),
        ([101, 90], 100, "percents"),
        ([-1, 90], 100, "percents"),
        ([90.5, 90], 100, "percents"),
        ([37], 25, "percents"),
        ([90], 0, "seeds_each"),
    ],
)
def test_replicates_that_cannot_be_are_refused(percents, seeds_each, field):
    with pytest.raises(BadInput) as refusal:
        check_replicates(percents, seeds_each)
    assert refusal.value.field == field


@pytest.mark.parametrize(
    ("average", "difference"),
    # Louisiana Administrative Code 7:XIII.139, both ends of each row.
    [
        (99, 2), (98, 3), (97, 3), (96, 4), (94, 4), (93, 5), (91, 5), (90, 6), (87, 6), (86, 7),
        (82, 7), (81, 8), (76, 8), (75, 9), (70, 9), (69, 10), (60, 10), (59, 11), (51, 11),
    ],
)  # fmt: skip
def test_two_tests_are_tolerated_as_published(average, difference):
    assert maximum_difference(average) == difference


def test_two_tests_agree_up_to_the_table_and_not_beyond():
    assert check_two_tests(88, 81).verdict == "accept"
    assert check_two_tests(89, 81).verdict == "retest"
    assert check_two_tests(100, 99).average_percent == 100
    assert check_two_tests(100, 99).verdict == "not in table"


def test_an_average_out_of_range_or_three_replicates_are_refused():
    for refused in (lambda: maximum_range(101, 4), lambda: maximum_difference(-1)):
        with pytest.raises(BadInput, match="between 0 and 100"):
            refused()
    with pytest.raises(BadInput, match="two or four"):
        maximum_range(90, 3)


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(1, 20)), min_size=2, max_size=8))
@settings(deadline=None)
def test_the_scatter_is_pearsons_chi_square(pairs):
    sowings = [(came, came + failed) for came, failed in pairs]
    scatter = heterogeneity(sowings)
    if scatter.chi_square is None:
        assert sum(came for came, _ in sowings) == 0
        return
    theirs = stats.chi2_contingency(
        [[came for came, _ in sowings], [sown - came for came, sown in sowings]], correction=False
    )
    assert scatter.chi_square == pytest.approx(theirs.statistic, abs=1e-9)
    assert scatter.p_value == pytest.approx(theirs.pvalue, abs=1e-9)
    assert scatter.ratio == pytest.approx(scatter.chi_square / (len(sowings) - 1))


def test_sowings_all_or_none_scatter_more_than_chance():
    assert heterogeneity([(20, 20), (0, 20), (20, 20), (0, 20)]).is_more_than_chance
    assert not heterogeneity([(10, 20), (11, 20), (9, 20)]).is_more_than_chance


def test_where_none_came_there_is_no_scatter_to_measure():
    none = heterogeneity([(0, 20), (0, 20)])
    assert (none.chi_square, none.ratio, none.p_value) == (None, None, None)


def test_scatter_needs_two_sowings():
    with pytest.raises(BadInput, match="two sowings"):
        heterogeneity([(3, 20)])
