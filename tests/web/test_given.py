"""What a donor learns of the seed she gave: how much went where, never to whom."""

import pytest
from django.urls import reverse

from seedbank.bank.actions.donation import answer_line, offer
from seedbank.sowings.models import Sowing
from tests.conftest import NOON
from tests.factories.bank import LotFactory, PlaceFactory, packets_of
from tests.factories.exchange import add_lines, make_round, publish_list
from tests.factories.members import MemberFactory
from tests.factories.sowings import counted_sowing

pytestmark = pytest.mark.django_db


@pytest.fixture
def given(cosmo, ignatius):
    """A lot of Cosmo's of which the bank has accepted two packets."""
    lot = LotFactory(raised_by=cosmo, name_text="Primula vulgaris")
    packets_of(lot, 6)
    donation = offer(donor=cosmo, by=cosmo, at=NOON, lines=[(lot, 2)])
    answer_line(
        line=donation.lines.get(),
        by=ignatius,
        at=NOON,
        answer="accepted",
        packets_received=2,
        place=PlaceFactory(code="A-03"),
    )
    return lot


def seen_by(client):
    (line,) = client.get(reverse("given")).context["given"]
    return line


def sown_by(grower, lot):
    """A counted sowing of somebody else; how the packet came to them is not what is asked here."""
    sowing = counted_sowing(lot.owner, 10, 20, lot=lot)
    Sowing.objects.filter(pk=sowing.pk).update(grower=grower)


def sown_by_others(lot, growers):
    for grower in MemberFactory.create_batch(growers):
        sown_by(grower, lot)


@pytest.mark.parametrize(("growers", "is_told"), [(0, False), (1, False), (2, False), (3, True)])
def test_a_share_is_told_from_three_growers_on(growers, is_told, given, cosmo, signed_in):
    sown_by_others(given, growers)
    line = seen_by(signed_in(cosmo))
    assert line.sowings == growers
    assert (line.germination is not None) == is_told


def test_three_sowings_of_one_grower_are_still_one_growers(given, cosmo, signed_in):
    grower = MemberFactory()
    for _sowing in range(3):
        sown_by(grower, given)
    assert seen_by(signed_in(cosmo)).germination is None


def test_the_donors_own_sowing_is_not_among_them(given, cosmo, signed_in):
    counted_sowing(cosmo, 0, 20, lot=given)
    sown_by_others(given, 3)
    line = seen_by(signed_in(cosmo))
    assert (line.sowings, line.germination.x, line.germination.n) == (3, 30, 60)


def test_no_grower_is_named(given, cosmo, signed_in):
    growers = MemberFactory.create_batch(3)
    for grower in growers:
        sown_by(grower, given)
    page = signed_in(cosmo).get(reverse("given")).content.decode()
    assert "from 3 counted sowings of 3 growers" in page
    assert not [grower for grower in growers if grower.name in page or grower.number in page]


def test_the_line_on_the_list_is_told(given, cosmo, ignatius, signed_in):
    found = make_round(ignatius)
    add_lines(round=found, lots=[given], by=ignatius, at=NOON)
    assert seen_by(signed_in(cosmo)).listed == ()
    publish_list(round=found, by=ignatius, at=NOON)
    assert seen_by(signed_in(cosmo)).listed == (("seed-2026", "Seed exchange 2026", 1),)


def test_nobody_sees_what_another_gave(given, tansy, signed_in):
    assert signed_in(tansy).get(reverse("given")).context["given"] == []


def test_more_lots_cost_no_more_queries(given, cosmo, signed_in, django_assert_max_num_queries):
    client = signed_in(cosmo)
    for _more in range(2):
        for _lot in range(3):
            lot = LotFactory(raised_by=cosmo)
            packets_of(lot, 1)
            offer(donor=cosmo, by=cosmo, at=NOON, lines=[(lot, 1)])
        with django_assert_max_num_queries(9):
            client.get(reverse("given"))
