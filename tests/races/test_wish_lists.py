"""A member on two devices, or she and the keeper, change one wish list at the same moment."""

import itertools
import time

import pytest

from crosses.base.refusal import Refused
from seedbank.exchange.actions.wishes import put_wishes, save_wishes
from seedbank.exchange.models import Round, WishList
from seedbank.exchange.queries.wishes import numbers_in, wish_list_of
from tests.conftest import NOON
from tests.factories.exchange import listed_round, stored_lot, wish

pytestmark = pytest.mark.usefixtures("real_database")

DEVICES = 8
PAUSE_SECONDS = 0.2


@pytest.fixture
def found(ignatius):
    lots = [stored_lot(f"Primula {letter}") for letter in "abcdefghij"]
    return listed_round(ignatius, *lots)


def test_control_who_reads_before_the_lock_loses_what_others_put_in(found, tansy, all_at_once):
    numbers = itertools.count(1)

    def read_then_save():
        main, _reserve = numbers_in(wish_list_of(found, tansy))
        time.sleep(PAUSE_SECONDS)
        save_wishes(round=found, member=tansy, by=tansy, at=NOON, main=[*main, next(numbers)])

    all_at_once(read_then_save, DEVICES)
    main, _reserve = numbers_in(wish_list_of(found, tansy))
    assert len(main) < DEVICES


def test_lines_put_in_at_the_same_moment_are_all_in_the_list(found, tansy, all_at_once):
    numbers = itertools.count(1)

    def put():
        return put_wishes(round=found, member=tansy, by=tansy, at=NOON, lines=[next(numbers)])

    assert not [answer for answer in all_at_once(put, DEVICES) if isinstance(answer, Exception)]
    main, _reserve = numbers_in(wish_list_of(found, tansy))
    assert sorted(main) == list(range(1, DEVICES + 1))
    assert WishList.objects.count() == 1


def test_of_two_whole_lists_typed_on_one_version_one_is_saved_and_the_other_told(
    found, tansy, all_at_once
):
    seen = wish(found, tansy, 1).version
    starts, moments = itertools.count(2), itertools.count(1)

    def save():
        return save_wishes(
            round=Round.objects.get(pk=found.pk),
            member=tansy,
            by=tansy,
            at=NOON.replace(second=next(moments)),
            main=[next(starts)],
            seen=seen,
        )

    answers = all_at_once(save, DEVICES)
    refused = [answer for answer in answers if isinstance(answer, Refused)]
    assert len(refused) == DEVICES - 1
    assert {no.code for no in refused} == {"wishes-changed"}
