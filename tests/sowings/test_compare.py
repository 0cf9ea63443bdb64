"""Two sowings side by side: the published test for a table of two by two, and whom one may compare."""

import pytest
from scipy.stats import fisher_exact

from tests.factories.bank import LotFactory
from tests.factories.sowings import counted_sowing, make_sowing

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot(tansy):
    return LotFactory(raised_by=tansy)


@pytest.fixture
def first(tansy, lot):
    return counted_sowing(tansy, 78, 120, lot=lot, where="outdoors")


@pytest.fixture
def second(tansy, lot):
    return counted_sowing(tansy, 29, 140, lot=lot, where="windowsill")


def compare(client, first, number):
    return client.get(f"/sowings/{first.number}/compare/", {"other": number})


def test_they_are_compared_by_the_exact_test(tansy, first, second, signed_in):
    page = compare(signed_in(tansy), first, second.number).text
    p_value = fisher_exact([[78, 42], [29, 111]]).pvalue
    assert f"p = {p_value:.3f}" in page
    assert "cannot be told apart without repeats" in page


def test_with_equal_results_the_test_finds_nothing(tansy, lot, first, signed_in):
    same = counted_sowing(tansy, 78, 120, lot=lot)
    assert "p = 1.000" in compare(signed_in(tansy), first, same.number).text


def test_the_other_sowings_of_the_lot_are_offered_if_somebody_looked(
    tansy, cosmo, lot, first, second, signed_in
):
    unseen = make_sowing(tansy)
    elsewhere = counted_sowing(tansy, 1, 2)
    private = counted_sowing(tansy, 5, 20, lot=lot, visibility="me")
    path = f"/sowings/{first.number}/compare/"
    page = signed_in(tansy).get(path).text
    assert f"?other={second.number}" in page
    assert f"?other={private.number}" in page
    for other in (first, unseen, elsewhere):
        assert f"?other={other.number}" not in page
    assert f"?other={private.number}" not in signed_in(cosmo).get(path).text


@pytest.mark.parametrize(
    ("which", "words"),
    [
        ("itself", "choose another"),
        ("unseen", "Nobody has looked at"),
        ("private", "that you may see"),
        ("withdrawn number", "that you may see"),
        ("mistyped", "mistyped"),
    ],
)
def test_what_cannot_be_compared_is_said_at_the_field(tansy, cosmo, first, signed_in, which, words):
    number = {
        "itself": lambda: first.number,
        "unseen": lambda: make_sowing(cosmo).number,
        "private": lambda: counted_sowing(cosmo, 1, 2, visibility="me").number,
        "withdrawn number": lambda: _number_of_nothing(first.number),
        "mistyped": lambda: first.number[:-1] + str((int(first.number[-1]) + 1) % 10),
    }[which]()
    answer = compare(signed_in(tansy), first, number)
    assert answer.status_code == 200
    assert words in answer.text
    assert f'value="{number}"' in answer.text
    assert "exact test" not in answer.text


def _number_of_nothing(number: str) -> str:
    """A well written number that no sowing has; 97 further on the check digits are the same."""
    head, _, digits = number.partition("-")
    return f"{head[0]}{int(head[1:]) + 97:06d}-{digits}"


def test_a_private_sowing_has_no_page_to_compare_it_for_others(tansy, cosmo, signed_in):
    private = counted_sowing(tansy, 1, 2, visibility="me")
    assert signed_in(cosmo).get(f"/sowings/{private.number}/compare/").status_code == 404
