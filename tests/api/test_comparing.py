"""Two sowings, and two lots, compared by script: all numbers, and the sentence beside them."""

import pytest
from django.urls import reverse
from scipy.stats import fisher_exact

from crosses.base.numbers import next_number
from tests.factories.bank import LotFactory
from tests.factories.sowings import counted_sowing, make_sowing

pytestmark = pytest.mark.django_db


def ask(script, name, number, other, expect=200):
    answer = script.get(reverse(f"api-{name}-comparison", args=[number]), {"other": other})
    assert answer.status_code == expect, answer.content
    return answer.json()


def test_two_sowings_tell_every_test_and_how(tansy, with_key):
    first, second = counted_sowing(tansy, 78, 120), counted_sowing(tansy, 29, 140)
    told = ask(with_key(tansy), "germination", first.number, second.number)
    assert (told["first_share"]["x"], told["second_share"]["n"]) == (78, 140)
    assert told["fisher_p_value"] == pytest.approx(fisher_exact([[78, 42], [29, 111]]).pvalue)
    # Newcombe 1998, method 10, for 78/120 less 29/140 the other way about: see tests/calc.
    assert told["difference"]["low"] < 29 / 140 - 78 / 120 < told["difference"]["high"]
    assert told["log_rank"]["observed"] == 78
    assert told["generalised_wilcoxon"]["sooner"] > 0.5
    assert told["pots_dealt_out_anew"] is None
    assert "no claim is made" in told["how"]


def test_two_lots_tell_each_side_and_what_may_be_claimed(tansy, with_key):
    lots = [LotFactory(number=next_number("lot"), raised_by=tansy) for _lot in range(2)]
    for lot, results in zip(lots, ((22, 19, 27), (9, 13, 12, 16)), strict=True):
        for came in results:
            counted_sowing(tansy, came, 40, lot=lot)
    told = ask(with_key(tansy), "lot", *(lot.number for lot in lots))
    assert (told["first_over_sowings"]["germinated"], told["second_over_sowings"]["seeds"]) == (
        68,
        160,
    )
    assert told["sowings_dealt_out_anew"]["ways"] == 35
    assert told["sowings_dealt_out_anew"]["p_value"] == pytest.approx(1 / 35)
    assert 0 < told["beta_binomial_p_value"] < 0.05
    assert told["fisher_p_value"] is None
    assert told["open_sowings"] == 7
    assert "of 35 ways to deal out the sowings" in told["how"]


def test_what_cannot_be_compared_is_told_at_other(tansy, cosmo, with_key):
    first, script = counted_sowing(tansy, 3, 9), with_key(tansy)
    unseen = make_sowing(tansy)
    hidden = counted_sowing(cosmo, 3, 9, visibility="me")
    assert "Nobody has looked" in str(ask(script, "germination", first.number, unseen.number, 400))
    ask(script, "germination", first.number, "W000001-00", 400)
    ask(script, "germination", first.number, hidden.number, 404)
