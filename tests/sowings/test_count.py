"""Count one pot: never more than sown, a total stands as typed, and a wrong count is taken back."""

import datetime
import uuid

import pytest
from django.db import IntegrityError, transaction

from crosses.base.refusal import Refused
from seedbank.sowings.actions.count import record_count, withdraw_count
from seedbank.sowings.actions.sowing import close_sowing, withdraw_sowing
from seedbank.sowings.models import Count, Replicate
from tests.factories.sowings import SOWN_ON, count_pot, make_sowing, packet_in_hand, pot_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def sowing(tansy):
    return make_sowing(tansy, packet_in_hand(tansy, seeds=20))


@pytest.fixture
def pot(sowing):
    return pot_of(sowing)


def told(pot: Replicate) -> list[int]:
    """What was new on each look, in order; and the pot's own total is their sum."""
    pot.refresh_from_db()
    new = list(
        pot.counts.filter(withdrawn_at=None)
        .order_by("counted_on")
        .values_list("newly_seen", flat=True)
    )
    assert pot.germinated == sum(new)
    return new


def test_new_seedlings_add_up_and_a_look_that_finds_none_is_kept(pot):
    for day, number in [(10, 7), (14, 0), (20, 5)]:
        count_pot(pot, day, number)
    assert told(pot) == [7, 0, 5]


def test_a_total_is_turned_into_what_is_new(pot):
    count_pot(pot, 10, 7)
    count = count_pot(pot, 14, 12, typed_as="total")
    assert (count.newly_seen, count.typed_number) == (5, 12)


def test_as_many_as_were_sown_may_come_up_and_not_one_more(pot):
    count_pot(pot, 10, 7)
    with pytest.raises(Refused, match="21 seedlings would be more than the 20 seeds sown") as no:
        count_pot(pot, 14, 14)
    assert no.value.field == "number"
    count_pot(pot, 14, 13)
    assert told(pot) == [7, 13]


def test_the_table_itself_refuses_more_than_sown(pot):
    with (
        pytest.raises(IntegrityError, match="replicate_never_more_than_sown"),
        transaction.atomic(),
    ):
        Replicate.objects.filter(pk=pot.pk).update(germinated=21)


def test_a_total_never_falls(pot):
    count_pot(pot, 10, 7)
    with pytest.raises(Refused, match="7 had come up before 24 April 2026; the total of 6"):
        count_pot(pot, 14, 6, typed_as="total")
    assert count_pot(pot, 14, 7, typed_as="total").newly_seen == 0


def test_a_total_stands_when_a_forgotten_look_before_it_is_added(pot):
    count_pot(pot, 20, 8, typed_as="total")
    count_pot(pot, 10, 3)
    assert told(pot) == [3, 5]


def test_a_total_stands_when_a_wrong_count_before_it_is_withdrawn(pot, tansy, at):
    wrong = count_pot(pot, 10, 3)
    later = count_pot(pot, 20, 8, typed_as="total")
    withdraw_count(count=wrong, by=tansy, at=at, reason="the neighbour's pot")
    assert told(pot) == [8]
    line = later.history.first()
    assert (line.history_user, line.newly_seen) == (tansy, 8)


def test_a_forgotten_look_may_not_go_over_a_later_total(pot):
    count_pot(pot, 20, 8, typed_as="total")
    with pytest.raises(Refused, match="9 had come up before 30 April 2026; the total of 8"):
        count_pot(pot, 10, 9)
    assert told(pot) == [8]


def test_between_two_looks_for_new_ones_a_total_is_not_taken(pot):
    count_pot(pot, 10, 3)
    count_pot(pot, 20, 4)
    with pytest.raises(Refused, match="type the new seedlings only"):
        count_pot(pot, 15, 5, typed_as="total")
    count_pot(pot, 15, 2)
    assert told(pot) == [3, 2, 4]


def test_one_pot_is_counted_once_a_day(pot, tansy, at):
    first = count_pot(pot, 10, 3)
    with pytest.raises(Refused, match="has a count of 20 April 2026") as no:
        count_pot(pot, 10, 4)
    assert no.value.field == "counted_on"
    withdraw_count(count=first, by=tansy, at=at, reason="counted weeds")
    count_pot(pot, 10, 4)
    assert told(pot) == [4]


def test_a_count_sent_twice_is_one_count(pot):
    key = uuid.UUID(int=7)
    assert count_pot(pot, 10, 3, client_key=key) == count_pot(pot, 10, 3, client_key=key)
    assert told(pot) == [3]


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (SOWN_ON, "the first look is a day later"),
        (SOWN_ON - datetime.timedelta(days=1), "was sown on 10 April 2026"),
        (datetime.date(2026, 5, 21), "still to come"),
    ],
)
def test_a_day_that_cannot_be_is_refused_at_its_field(pot, tansy, at, day, words):
    with pytest.raises(Refused, match=words) as no:
        record_count(replicate=pot, by=tansy, at=at, counted_on=day, number=1)
    assert no.value.field == "counted_on"


def test_after_it_was_closed_nothing_is_counted_but_a_look_before_it_is(sowing, pot, tansy, at):
    close_sowing(sowing=sowing, by=tansy, at=at, closed_on=SOWN_ON + datetime.timedelta(days=30))
    with pytest.raises(Refused, match=r"closed on 10 May 2026\. Open it again"):
        count_pot(pot, 31, 1)
    count_pot(pot, 29, 1)
    assert told(pot) == [1]


def test_a_withdrawn_sowing_is_not_counted(sowing, pot, tansy, at):
    withdraw_sowing(sowing=sowing, by=tansy, at=at, reason="wrong packet")
    with pytest.raises(Refused, match="withdrawn"):
        count_pot(pot, 10, 1)


def test_a_withdrawal_needs_a_reason_and_happens_once(pot, tansy, at):
    count = count_pot(pot, 10, 3)
    with pytest.raises(Refused, match="Say why"):
        withdraw_count(count=count, by=tansy, at=at, reason="  ")
    withdraw_count(count=count, by=tansy, at=at, reason="counted weeds")
    with pytest.raises(Refused, match="already"):
        withdraw_count(count=Count.objects.get(), by=tansy, at=at, reason="again")
    assert told(pot) == []


# The page


@pytest.fixture
def typed(pot):
    return {
        "replicate": pot.pk,
        "counted_on": "2026-05-01",
        "number": "9",
        "typed_as": "new",
        "note": "two look weak",
    }


def test_the_page_counts_and_shows_what_came_with_its_interval(tansy, sowing, typed, signed_in):
    page = signed_in(tansy).post(f"/sowings/{sowing.number}/counts/", typed, follow=True).text
    assert "9 new, counted." in page
    # 9 of 20: 45 % (26-66), the score interval of Wilson (1927), by his formula.
    assert "<b>45 %</b>" in page
    assert "26–66 %, 9 of 20 seeds" in page
    assert "waiting, not failed" in page
    assert "two look weak" in page


def test_the_page_offers_today_and_keeps_what_was_typed_when_it_refuses(
    tansy, sowing, typed, signed_in
):
    client, path = signed_in(tansy), f"/sowings/{sowing.number}/counts/"
    assert 'value="2026-05-20"' in client.get(path).text
    answer = client.post(path, typed | {"number": "21"})
    assert answer.status_code == 422
    assert "more than the 20 seeds sown" in answer.text
    assert 'value="21"' in answer.text
    assert 'value="two look weak"' in answer.text
    assert "more than" not in client.post(path, typed).text


@pytest.mark.parametrize("number", ["-1", "many", ""])
def test_a_number_that_is_none_is_refused(tansy, sowing, typed, signed_in, number):
    path = f"/sowings/{sowing.number}/counts/"
    assert signed_in(tansy).post(path, typed | {"number": number}).status_code == 422
    assert not Count.objects.exists()


def test_a_pot_of_another_sowing_cannot_be_counted_through_this_one(
    tansy, sowing, typed, signed_in
):
    other = pot_of(make_sowing(tansy))
    answer = signed_in(tansy).post(
        f"/sowings/{sowing.number}/counts/", typed | {"replicate": other.pk}
    )
    assert answer.status_code == 422
    assert not Count.objects.exists()


def test_others_read_a_sowing_and_do_not_count_it(cosmo, ignatius, sowing, pot, typed, signed_in):
    count = count_pot(pot, 10, 3)
    for other in (cosmo, ignatius):
        client = signed_in(other)
        page = client.get(f"/sowings/{sowing.number}/")
        assert page.status_code == 200
        assert "Withdraw" not in page.text
        assert client.post(f"/sowings/{sowing.number}/counts/", typed).status_code == 403
        path = f"/sowings/{sowing.number}/counts/{count.pk}/withdraw/"
        assert client.post(path, {"reason": "no"}).status_code == 403
    assert told(pot) == [3]


def test_a_keeper_counts_the_banks_germination_tests(ignatius, cosmo, typed, tansy, signed_in):
    test = make_sowing(tansy, packet_in_hand(tansy, seeds=20), purpose="test")
    path, sent = f"/sowings/{test.number}/counts/", typed | {"replicate": pot_of(test).pk}
    assert signed_in(cosmo).post(path, sent).status_code == 403
    assert signed_in(ignatius).post(path, sent).status_code == 302
    assert Count.objects.get().logged_by == ignatius


def test_the_page_withdraws_a_count_with_its_reason(tansy, sowing, pot, signed_in):
    count = count_pot(pot, 10, 3)
    path = f"/sowings/{sowing.number}/counts/{count.pk}/withdraw/"
    client = signed_in(tansy)
    assert client.post(path, {"reason": ""}).status_code == 422
    page = client.post(path, {"reason": "counted weeds"}, follow=True).text
    assert "Nobody has looked yet" in page
    assert "not known yet" in page
    assert client.get(path).status_code == 404


def test_a_count_is_not_withdrawn_through_another_sowing(tansy, sowing, pot, signed_in):
    count, other = count_pot(pot, 10, 3), make_sowing(tansy)
    path = f"/sowings/{other.number}/counts/{count.pk}/withdraw/"
    assert signed_in(tansy).post(path, {"reason": "x"}).status_code == 404
    assert told(pot) == [3]
