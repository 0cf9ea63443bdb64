"""All open pots in one table: each pot counted is saved, and only what was refused stays typed."""

import datetime

import pytest

from seedbank.sowings.actions.sowing import close_sowing, withdraw_sowing
from seedbank.sowings.models import Count
from tests.conftest import TODAY
from tests.factories.sowings import count_pot, make_sowing, packet_in_hand, pot_of

pytestmark = pytest.mark.django_db

PATH = "/sowings/counts/"


@pytest.fixture
def pots(tansy):
    sowing = make_sowing(
        tansy, packet_in_hand(tansy, seeds=60), replicate_seeds=[20, 20, 20], seeds_sown=60
    )
    return list(sowing.replicates.all())


def typed(numbers: dict, **head: str) -> dict[str, str]:
    sent = {"counted_on": "2026-05-01", "typed_as": "new"} | head
    for pot, number in numbers.items():
        sent[f"pot-{pot.pk}-number"] = str(number)
        sent[f"pot-{pot.pk}-client_key"] = f"00000000-0000-0000-0000-{pot.pk:012d}"
    return sent


def totals(pots: list) -> list[int]:
    for pot in pots:
        pot.refresh_from_db()
    return [pot.germinated for pot in pots]


def test_an_empty_cell_is_no_look_and_a_nought_is_one(tansy, pots, signed_in):
    first, second, third = pots
    answer = signed_in(tansy).post(PATH, typed({first: 4, second: 0, third: ""}), follow=True)
    assert "2 pots counted." in answer.text
    assert totals(pots) == [4, 0, 0]
    assert Count.objects.filter(replicate=third).count() == 0


def test_sent_twice_it_counts_once(tansy, pots, signed_in):
    client = signed_in(tansy)
    for _ in range(2):
        client.post(PATH, typed({pots[0]: 4, pots[1]: 5}))
    assert totals(pots) == [4, 5, 0]
    assert Count.objects.count() == 2


def test_a_refused_pot_keeps_what_was_typed_and_the_others_are_saved(tansy, pots, signed_in):
    first, second, _third = pots
    answer = signed_in(tansy).post(PATH, typed({first: 4, second: 21}))
    assert answer.status_code == 422
    assert totals(pots) == [4, 0, 0]
    assert "more than the 20 seeds sown" in answer.text
    assert 'value="21"' in answer.text
    assert 'value="4"' not in answer.text


def test_totals_can_be_typed_for_all(tansy, pots, signed_in):
    count_pot(pots[0], 5, 3)
    signed_in(tansy).post(PATH, typed({pots[0]: 7, pots[1]: 2}, typed_as="total"))
    assert totals(pots) == [7, 2, 0]


def test_a_wrong_day_saves_nothing_and_keeps_every_number(tansy, pots, signed_in):
    client = signed_in(tansy)
    for day in ("", "2026-05-21"):
        answer = client.post(PATH, typed({pots[0]: 4, pots[1]: 5}, counted_on=day))
        assert answer.status_code == 422
        assert 'value="4"' in answer.text
        assert 'value="5"' in answer.text
    assert not Count.objects.exists()


def test_only_ones_own_open_pots_are_offered(tansy, cosmo, pots, at, signed_in):
    closed, withdrawn, todays = (make_sowing(tansy) for _ in range(3))
    close_sowing(sowing=closed, by=tansy, at=at, closed_on=TODAY)
    withdraw_sowing(sowing=withdrawn, by=tansy, at=at, reason="twice")
    fresh = make_sowing(tansy, sown_on=TODAY)
    others = make_sowing(cosmo)
    page = signed_in(tansy).get(PATH).text
    assert todays.number in page
    assert page.count(pots[0].sowing.number) >= 3
    for sowing in (closed, withdrawn, fresh, others):
        assert sowing.number not in page


def test_another_persons_pot_is_not_counted_here(tansy, cosmo, pots, signed_in):
    theirs = pot_of(make_sowing(cosmo))
    signed_in(tansy).post(PATH, typed({theirs: 4}))
    assert totals([theirs]) == [0]


def test_without_a_pot_the_page_says_what_to_do(cosmo, signed_in):
    assert "Sow a packet" in signed_in(cosmo).get(PATH).text


def test_the_pot_unseen_longest_comes_first(tansy, pots, signed_in):
    count_pot(pots[0], 30, 0)
    count_pot(pots[2], 10, 0)
    page = signed_in(tansy).get(PATH).text
    places = [page.index(f"pot-{pot.pk}-number") for pot in pots]
    # Never looked at, ten days after sowing, thirty days after sowing.
    assert sorted(places) == [places[1], places[2], places[0]]


def test_more_pots_cost_no_more_queries(tansy, pots, signed_in, django_assert_max_num_queries):
    client = signed_in(tansy)
    for _ in range(2):
        with django_assert_max_num_queries(8):
            client.get(PATH)
        for _ in range(6):
            make_sowing(tansy, sown_on=TODAY - datetime.timedelta(days=20))
