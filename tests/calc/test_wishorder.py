"""Putting wishes in order: what a member sees move, and what becomes of the reserves."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seedbank.calc.wishorder import WishOrder

THREE = WishOrder((5, 1, 3, 2), 3)


def parts(order):
    return order.main_lines, order.reserve_lines


@pytest.mark.parametrize(
    ("numbers", "place", "main", "reserve"),
    [
        ([7], None, (5, 1, 3), (2, 7)),
        ([7, 8], 1, (7, 8, 5), (1, 3, 2)),
        ([7], 4, (5, 1, 3), (7, 2)),
        ([7], 99, (5, 1, 3), (2, 7)),
        ([3], None, (5, 1, 3), (2,)),
        ([2], 1, (2, 5, 1), (3,)),
        ([2, 5], 2, (1, 2, 5), (3,)),
        ([5, 5], None, (5, 1, 3), (2, 5)),
    ],
)
def test_lines_are_put_at_a_place_or_at_the_end(numbers, place, main, reserve):
    assert parts(THREE.put(numbers, allowance=3, place=place)) == (main, reserve)


def test_with_room_the_end_is_that_of_the_main_wishes():
    assert parts(WishOrder((5, 2), 1).put([7, 8], allowance=3)) == ((5, 7, 8), (2,))


@pytest.mark.parametrize(
    ("rank", "step", "allowance", "main", "reserve"),
    [
        (1, -1, 3, (5, 1, 3), (2,)),
        (4, 1, 3, (5, 1, 3), (2,)),
        (2, -1, 3, (1, 5, 3), (2,)),
        # No room among the main wishes: the two at the border change places.
        (4, -1, 3, (5, 1, 2), (3,)),
        (3, 1, 3, (5, 1, 2), (3,)),
        # Room: the border moves, and the order stays.
        (4, -1, 9, (5, 1, 3, 2), ()),
        (3, 1, 9, (5, 1), (3, 2)),
    ],
)
def test_a_wish_moves_one_step_and_over_the_border(rank, step, allowance, main, reserve):
    assert parts(THREE.moved(rank, step, allowance=allowance)) == (main, reserve)


def test_a_line_is_found_where_it_was_seen_or_wherever_it_now_stands():
    twice = WishOrder((4, 9, 4), 3)
    assert twice.rank_of(4, 3) == 3
    assert twice.rank_of(4, 2) == 1
    assert twice.rank_of(7, 1) is None


lines = st.lists(st.integers(1, 8), max_size=8).map(tuple)


@given(
    lines=lines,
    numbers=st.lists(st.integers(1, 12), max_size=6),
    place=st.none() | st.integers(1, 12),
    allowance=st.integers(1, 6),
)
def test_putting_twice_is_putting_once_and_loses_nothing(lines, numbers, place, allowance):
    order = WishOrder(lines, min(len(lines), allowance))
    once = order.put(numbers, allowance=allowance, place=place)
    for number in {*lines, *numbers}:
        assert once.lines.count(number) == max(lines.count(number), numbers.count(number))
    assert once.main <= allowance
    assert once.put(numbers, allowance=allowance).lines == once.lines
