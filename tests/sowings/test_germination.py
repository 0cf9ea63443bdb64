"""What is known of a lot: pooled over sowings that a reader may see, never a nought out of silence."""

import pytest
from scipy.stats import binomtest

from seedbank.sowings.actions.sowing import withdraw_sowing
from seedbank.sowings.queries import germination_of_lots, lot_germination
from seedbank.sowings.queries.lots import sowing_advice
from tests.factories.bank import LotFactory, packets_of
from tests.factories.crosses import TaxonFactory
from tests.factories.sowings import count_pot, counted_sowing, make_sowing, pot_of

pytestmark = pytest.mark.django_db

# Sowings of cross 01 in the demo: where, came, sown, percent and its 95 % interval by the score
# method of Wilson (1927).
THREE_WAYS = [
    ("outdoors, 10-15 °C", 78, 120, 65, (56, 73)),
    ("fridge four weeks, then 16 °C", 66, 110, 60, (51, 69)),
    ("windowsill, 24 °C", 29, 140, 21, (15, 28)),
]


@pytest.fixture
def lot(tansy):
    return LotFactory(raised_by=tansy)


@pytest.mark.parametrize(("where", "came", "sown", "percent", "interval"), THREE_WAYS)
def test_each_way_of_sowing_has_its_own_share_and_interval(
    tansy, lot, signed_in, where, came, sown, percent, interval
):
    sowing = counted_sowing(tansy, came, sown, lot=lot, where=where)
    page = signed_in(tansy).get(f"/sowings/{sowing.number}/").text
    low, high = interval
    assert f"<b>{percent} %</b>" in page
    assert f"({low}–{high} %, {came} of {sown} seeds)" in page
    judge = binomtest(came, sown).proportion_ci(method="wilson")
    assert (round(100 * judge.low), round(100 * judge.high)) == interval


def test_early_quitters_are_unfinished_and_more_may_come_after_a_chill(tansy, lot, signed_in):
    sowing = counted_sowing(tansy, 29, 140, lot=lot)
    path = f"/sowings/{sowing.number}/"
    assert "waiting, not failed" in signed_in(tansy).get(path).text
    count_pot(pot_of(sowing), 38, 30)
    assert "59 of 140 seeds" in signed_in(tansy).get(path).text


def test_sowings_that_disagree_are_pooled_with_a_wider_interval(tansy, lot):
    for _where, came, sown, _percent, _interval in THREE_WAYS:
        counted_sowing(tansy, came, sown, lot=lot)
    share = germination_of_lots([lot.pk], tansy)[lot.pk]
    assert (share.x, share.n) == (173, 370)
    # As if all seeds had been one sowing; sixty and twenty percent are not one sowing.
    naive = binomtest(173, 370).proportion_ci(method="wilson")
    assert share.high - share.low > 1.5 * (naive.high - naive.low)
    assert share.low < naive.low < naive.high < share.high


def test_a_private_sowing_counts_for_its_grower_and_for_nobody_else(tansy, cosmo, ignatius, lot):
    counted_sowing(tansy, 18, 20, lot=lot)
    counted_sowing(tansy, 0, 10, lot=lot, visibility="me")
    for reader, told in ((tansy, (18, 30)), (cosmo, (18, 20)), (ignatius, (18, 20))):
        share = germination_of_lots([lot.pk], reader)[lot.pk]
        assert (share.x, share.n) == told
        known = lot_germination(lot, reader)
        assert (known.share.x, known.share.n) == told
        assert sum(share.n for _sowing, share in known.sowings) == told[1]


def test_what_nobody_looked_at_or_was_withdrawn_says_nothing(tansy, at, lot):
    make_sowing(tansy, packets_of(lot, seeds_each=10)[0])
    gone = counted_sowing(tansy, 3, 10, lot=lot)
    withdraw_sowing(sowing=gone, by=tansy, at=at, reason="wrong lot")
    assert germination_of_lots([lot.pk], tansy) == {}
    known = lot_germination(lot, tansy)
    assert (known.share, known.pooled, known.sowings) == (None, None, ())


def test_several_pots_and_looks_of_a_sowing_are_counted_once(tansy, lot):
    packet = packets_of(lot, seeds_each=40)[0]
    sowing = make_sowing(tansy, packet, replicate_seeds=[20, 20])
    for day in (5, 10, 15):
        count_pot(pot_of(sowing, 1), day, 3)
        count_pot(pot_of(sowing, 2), day, 2)
    share = germination_of_lots([lot.pk], tansy)[lot.pk]
    assert (share.x, share.n) == (15, 40)


def test_many_lots_are_asked_in_one_query(tansy, django_assert_num_queries):
    lots = LotFactory.create_batch(8, raised_by=tansy)
    for lot in lots:
        counted_sowing(tansy, 4, 24, lot=lot)
    with django_assert_num_queries(1):
        shares = germination_of_lots([lot.pk for lot in lots], tansy)
    assert {(share.x, share.n) for share in shares.values()} == {(4, 24)}


def test_advice_rests_on_the_lot_itself_else_on_its_kind_else_is_not_given(tansy):
    taxon = TaxonFactory()
    lot, sister = LotFactory.create_batch(2, raised_by=tansy, taxon=taxon)
    assert sowing_advice(lot, tansy)[0] is None
    counted_sowing(tansy, 12, 20, lot=sister)
    _advice, basis = sowing_advice(lot, tansy)
    assert basis == "from 1 sowing of 20 seeds of other lots of Primula veris"
    counted_sowing(tansy, 15, 20, lot=lot)
    assert sowing_advice(lot, tansy)[1] == "from 1 sowing of 20 seeds of this lot"


def test_more_seeds_are_advised_where_fewer_came(tansy):
    good, poor = LotFactory.create_batch(2, raised_by=tansy)
    counted_sowing(tansy, 90, 100, lot=good)
    counted_sowing(tansy, 25, 100, lot=poor)
    assert sowing_advice(good, tansy)[0].seeds < sowing_advice(poor, tansy)[0].seeds
    # 34 seeds would do for five seedlings at 95 % if 25 % were known for sure (binomial).
    assert sowing_advice(poor, tansy)[0].seeds >= 5 / 0.25
