"""Two lots side by side: which sowings count, what is claimed, and which lots are offered."""

import pytest

from crosses.base.numbers import next_number
from tests.factories.bank import LotFactory
from tests.factories.crosses import TaxonFactory
from tests.factories.sowings import counted_sowing, make_sowing, packet_in_hand

pytestmark = pytest.mark.django_db


def new_lot(grower, **facts):
    return LotFactory(number=next_number("lot"), raised_by=grower, **facts)


@pytest.fixture
def taxon():
    return TaxonFactory()


@pytest.fixture
def lots(tansy, taxon):
    """Three counted sowings of one lot, four of another of the same taxon."""
    first, second = new_lot(tansy, taxon=taxon), new_lot(tansy, taxon=taxon)
    for came in (22, 19, 27):
        counted_sowing(tansy, came, 40, lot=first)
    for came in (9, 13, 12, 16):
        counted_sowing(tansy, came, 40, lot=second)
    return first, second


def compare(client, lot, number):
    return client.get(f"/lots/{lot.number}/compare/", {"other": number})


def test_the_page_says_in_one_sentence_how_far_they_are_apart(tansy, lots, signed_in):
    first, second = lots
    page = compare(signed_in(tansy), first, second.number).text
    assert "3 sowings of 120 seeds against 4 sowings of 160 seeds" in page
    # As in tests/calc: 35 ways to deal out seven sowings, the one seen the furthest apart.
    assert "of 35 ways to deal out the sowings, 1 differs as much (p 0.029" in page
    assert "7 of these sowings are still open" in page


def test_anothers_private_sowing_counts_for_nobody_else(tansy, cosmo, lots, signed_in):
    first, second = lots
    counted_sowing(tansy, 0, 40, lot=first, visibility="me")
    own = compare(signed_in(tansy), first, second.number).text
    theirs = compare(signed_in(cosmo), first, second.number).text
    assert "4 sowings of 160 seeds against" in own
    assert "3 sowings of 120 seeds against" in theirs


def test_lots_of_its_kind_are_offered_if_a_sowing_was_counted(tansy, cosmo, taxon, lots, signed_in):
    first, second = lots
    unsown = new_lot(tansy, taxon=taxon)
    unseen = make_sowing(
        tansy, packet_in_hand(tansy, number=next_number("lot"), taxon=taxon)
    ).packet.lot
    other_kind = new_lot(tansy, taxon=TaxonFactory(species="elatior"))
    private = new_lot(cosmo, taxon=taxon, visibility="me", owner=cosmo)
    counted_sowing(tansy, 4, 9, lot=other_kind)
    counted_sowing(cosmo, 4, 9, lot=private)
    client = signed_in(tansy)
    assert f"/lots/{first.number}/compare/" in client.get(f"/lots/{first.number}/").text
    page = client.get(f"/lots/{first.number}/compare/").text
    assert f"?other={second.number}" in page
    for lot in (first, unsown, unseen, other_kind, private):
        assert f"?other={lot.number}" not in page


@pytest.mark.parametrize(
    ("which", "words"),
    [
        ("itself", "choose another"),
        ("not counted", "Nobody has counted a sowing"),
        ("private", "that you may see"),
        ("mistyped", "mistyped"),
    ],
)
def test_what_cannot_be_compared_is_said_at_the_field(tansy, cosmo, lots, signed_in, which, words):
    first = lots[0]
    number = {
        "itself": lambda: first.number,
        "not counted": lambda: new_lot(tansy).number,
        "private": lambda: new_lot(cosmo, visibility="me", owner=cosmo).number,
        "mistyped": lambda: first.number[:-1] + str((int(first.number[-1]) + 1) % 10),
    }[which]()
    page = compare(signed_in(tansy), first, number).text
    assert words in page
    assert f'value="{number}"' in page
    assert "still open" not in page
