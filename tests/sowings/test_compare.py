"""Two sowings of one lot beside each other: the difference with its interval, and what to make of it."""

import pytest
from scipy import stats

from tests.factories.bank import LotFactory, packets_of
from tests.factories.sowings import count_pot, make_sowing, pot_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def sowings(tansy):
    """Scene 9 of the demo: one lot outdoors, 120 seeds, and on a windowsill, 140."""
    lot = LotFactory(raised_by=tansy)
    return [
        make_sowing(tansy, packets_of(lot, seeds_each=seeds)[0], where=where)
        for seeds, where in ((120, "outdoors"), (140, "windowsill, 24 °C"))
    ]


def compared(client, sowings):
    outdoors, windowsill = sowings
    return client.get(f"/sowings/{outdoors.number}/compare/", {"other": windowsill.number})


def test_the_difference_stands_with_its_interval_and_makes_no_claim(tansy, sowings, signed_in):
    for sowing, came in zip(sowings, (78, 29), strict=True):
        count_pot(pot_of(sowing), 14, came)
    page = compared(signed_in(tansy), sowings)
    # Newcombe (1998), method 10: 29/140 less 78/120.
    assert "44 points fewer (33 to 54)" in page.text
    assert "no claim is made" in page.text
    p_value = stats.fisher_exact([[78, 42], [29, 111]]).pvalue
    assert page.context["compared"].p_value == pytest.approx(p_value)


def test_courses_looked_at_on_the_same_days_are_compared(tansy, sowings, signed_in):
    for sowing, came in zip(sowings, (78, 29), strict=True):
        count_pot(pot_of(sowing), 14, came)
    assert "78 seedlings on the first side" in compared(signed_in(tansy), sowings).text


def test_courses_looked_at_on_other_days_are_not_but_the_totals_are(tansy, sowings, signed_in):
    outdoors, windowsill = sowings
    count_pot(pot_of(outdoors), 14, 78)
    count_pot(pot_of(windowsill), 15, 29)
    page = compared(signed_in(tansy), sowings)
    assert "not looked at on the same days" in page.text
    assert "44 points fewer (33 to 54)" in page.text


def test_a_sowing_nobody_looked_at_cannot_be_compared(tansy, sowings, signed_in):
    outdoors, windowsill = sowings
    count_pot(pot_of(outdoors), 14, 78)
    page = compared(signed_in(tansy), sowings)
    assert f"Nobody has looked at {windowsill.number} yet." in page.text
    assert page.context["compared"] is None


def test_anothers_private_sowing_is_not_there_to_compare_with(tansy, cosmo, sowings, signed_in):
    outdoors, _windowsill = sowings
    count_pot(pot_of(outdoors), 14, 78)
    hidden = make_sowing(cosmo, visibility="me")
    count_pot(pot_of(hidden), 14, 3)
    assert compared(signed_in(tansy), [outdoors, hidden]).status_code == 404
    assert compared(signed_in(cosmo), [outdoors, hidden]).status_code == 200
