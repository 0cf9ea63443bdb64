"""The order of one member's wishes: put in, moved and taken out, main wishes before reserves."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WishOrder:
    """Line numbers, most wanted first; the first `main` of them are main wishes.

    Every change keeps the main wishes within the allowance: what is pushed over it becomes the
    first reserve. Places and ranks begin at 1.

    Examples
    --------
    >>> WishOrder((5, 1, 3), 3).put([4], allowance=3, place=1)
    WishOrder(lines=(4, 5, 1, 3), main=3)

    """

    lines: tuple[int, ...] = ()
    main: int = 0

    @property
    def main_lines(self) -> tuple[int, ...]:
        """The wishes that count towards the allowance, in order."""
        return self.lines[: self.main]

    @property
    def reserve_lines(self) -> tuple[int, ...]:
        """The reserves, in order."""
        return self.lines[self.main :]

    def put(
        self, numbers: Sequence[int], *, allowance: int, place: int | None = None
    ) -> "WishOrder":
        """Put lines in at a place, or at the end of the main wishes, and of the reserves after that.

        A line is put in as often as it is named, those counted that stand in the list. With a
        place the latter move there; without one they stay where they are, so that the same
        gesture twice changes nothing.
        """
        if place is None:
            order = self
            for number in _over(numbers, Counter(self.lines)):
                end = order.main if order.main < allowance else len(order.lines)
                order = order._inserted(number, end, allowance)
            return order
        rest = list(self.lines)
        standing = _over(numbers, Counter(numbers) - Counter(self.lines))
        for number in standing:
            rest.remove(number)
        lines = (*rest[: place - 1], *numbers, *rest[place - 1 :])
        # What only moves leaves the border where it is; what is new among the main wishes moves it.
        new = len(numbers) - len(standing) if place - 1 <= self.main else 0
        return WishOrder(lines, min(self.main + new, allowance))

    def moved(self, rank: int, step: int, *, allowance: int) -> "WishOrder":
        """Move a wish one place up (step below 0) or down.

        The border before the reserves counts as a place: the first reserve goes up over it while
        there is room, and the last main wish goes down over it to be the first reserve.
        """
        at = rank - 1
        if step < 0 and at == self.main < allowance:
            return WishOrder(self.lines, self.main + 1)
        if (
            step > 0
            and at == self.main - 1
            and self.main < len(self.lines)
            and self.main < allowance
        ):
            return WishOrder(self.lines, self.main - 1)
        other = at + (1 if step > 0 else -1)
        if not 0 <= other < len(self.lines):
            return self
        lines = list(self.lines)
        lines[at], lines[other] = lines[other], lines[at]
        return WishOrder(tuple(lines), self.main)

    def without(self, rank: int) -> "WishOrder":
        """Take the wish of a rank out; a reserve does not move up by itself."""
        lines = self.lines[: rank - 1] + self.lines[rank:]
        return WishOrder(lines, self.main - 1 if rank <= self.main else self.main)

    def rank_of(self, number: int, near: int) -> int | None:
        """Return where a line stands; of several places the one it was last seen at, or the first."""
        if 1 <= near <= len(self.lines) and self.lines[near - 1] == number:
            return near
        return self.lines.index(number) + 1 if number in self.lines else None

    def _inserted(self, number: int, at: int, allowance: int) -> "WishOrder":
        lines = (*self.lines[:at], number, *self.lines[at:])
        return WishOrder(lines, min(self.main + 1 if at <= self.main else self.main, allowance))


def _over(numbers: Sequence[int], enough: "Counter[int]") -> list[int]:
    """Return the numbers, in order, leaving out of each the first so many."""
    left = Counter(enough)
    over = []
    for number in numbers:
        if left[number] > 0:
            left[number] -= 1
        else:
            over.append(number)
    return over
