"""What the checks of a pollination add up to; the state is never typed.

A pollination is one flower, or several treated alike. Flowers leave it in four ways: they fail
(abort without a sign of taking), are lost (eaten, or a capsule aborts, or sheds its seed unseen),
or are harvested. What is left is open: somebody still has to look.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from crosses.calc.errors import BadInput

_SIGNS_OF_TAKE = frozenset({"swelling", "colouring", "split", "shed"})
_RIPE = frozenset({"colouring", "split"})
_LEAVING = frozenset({"aborted", "eaten", "shed"})
_OPENED = frozenset({"split", "shed"})
# Eaten is not among them: nobody saw whether the capsule was still closed when it went.
_SEEN_CLOSED = frozenset({"nothing_yet", "corolla_faded", "swelling", "colouring", "aborted"})

KINDS_OF_CHECK = _SEEN_CLOSED | _OPENED | {"eaten"}
"""What may be seen on a day. Split means split with the seed still there, shed with it gone."""


@dataclass(frozen=True)
class Seen:
    """What was seen on one day.

    Attributes
    ----------
    day : date
    kind : str
        One of `KINDS_OF_CHECK`.
    flowers : int or None
        How many of the flowers it was seen on; None for all that were still open.
    """

    day: date
    kind: str
    flowers: int | None = None


@dataclass(frozen=True)
class CapsuleState:
    """Where a pollination stands.

    Attributes
    ----------
    state : str
        waiting, taken, ripe, harvested, lost or failed.
    open_flowers : int
        Flowers and capsules somebody still has to look at.
    capsules_set : int
        The most capsules known to have formed, those harvested and lost since included.
    capsules_harvested : int
    lost : int
        Capsules that aborted or shed their seed, and whatever was eaten.
    failed : int
        Flowers that aborted without a sign of taking.
    last_seen : date or None
        Day of the latest check.
    sentence : str
        The same for a person to read.
    """

    state: str
    open_flowers: int
    capsules_set: int
    capsules_harvested: int
    lost: int
    failed: int
    last_seen: date | None
    sentence: str


@dataclass(frozen=True)
class OpeningInterval:
    """Between which days after pollination the first capsule opened.

    Attributes
    ----------
    closed_until_day : int
        The last day it was seen still closed; 0 if it was not looked at before.
    opened_by_day : int or None
        The first day it was seen open; None if it was not (closed at the last look, or gone).
    """

    closed_until_day: int
    opened_by_day: int | None


@dataclass
class _Tally:
    """The running count while the checks are read in order of day."""

    flowers: int
    capsules_set: int = 0
    capsules_lost: int = 0
    eaten_before_take: int = 0
    failed: int = 0
    is_ripe_seen: bool = False

    @property
    def gone(self) -> int:
        """Flowers no longer there, those harvested aside."""
        return self.capsules_lost + self.eaten_before_take + self.failed

    @property
    def capsules_standing(self) -> int:
        """Capsules seen so far and not lost."""
        return self.capsules_set - self.capsules_lost


def capsule_state(
    flowers: int, checks: Sequence[Seen], capsules_harvested: int = 0
) -> CapsuleState:
    """Add the checks and harvests of one pollination up to its state.

    Checks are read in order of day, those of one day as given. Swelling, colouring and split set
    capsules. A flower that aborts is taken to be one without a capsule as long as there is one,
    because those drop first; after that it is a capsule lost. What is eaten is a capsule as long as
    there is one; a flower eaten before it took is lost too, for it says nothing about the cross.

    Harvests carry no day here, so ripe is said as long as anything is open once colour or a split
    was seen: better one look too many than seed on the ground.

    Parameters
    ----------
    flowers : int
        Flowers pollinated, at least 1.
    checks : sequence of Seen
        In any order.
    capsules_harvested : int
        Over all harvests.

    Raises
    ------
    BadInput
        If a count is below its least, a kind is not known, or more flowers are accounted for than
        were pollinated.

    Examples
    --------
    >>> from datetime import date
    >>> capsule_state(6, [Seen(date(2027, 5, 2), "swelling", 5)], 5).sentence
    '6 flowers: 5 set, 5 harvested, 1 still open. Last looked at on 2 May 2027.'
    """
    if flowers < 1:
        raise BadInput("A pollination is of one flower or more.", field="flowers")
    if capsules_harvested < 0:
        raise BadInput("Capsules harvested cannot be below 0.", field="capsules_harvested")
    tally = _Tally(flowers)
    in_order = sorted(checks, key=lambda seen: seen.day)
    for seen in in_order:
        _add(tally, seen, capsules_harvested)
    accounted_for = tally.gone + capsules_harvested
    if accounted_for > flowers:
        raise BadInput(
            f"{_count(tally.gone, 'flower')} gone and {capsules_harvested} harvested make"
            f" {accounted_for}, but only {flowers} were pollinated.",
            field="capsules_harvested",
        )
    open_flowers = flowers - accounted_for
    lost = tally.capsules_lost + tally.eaten_before_take
    capsules_set = max(tally.capsules_set, capsules_harvested + tally.capsules_lost)
    last_seen = in_order[-1].day if in_order else None
    return CapsuleState(
        state=_state(tally, open_flowers, capsules_harvested),
        open_flowers=open_flowers,
        capsules_set=capsules_set,
        capsules_harvested=capsules_harvested,
        lost=lost,
        failed=tally.failed,
        last_seen=last_seen,
        sentence=_sentence(
            flowers,
            {
                "set": capsules_set,
                "harvested": capsules_harvested,
                "lost": lost,
                "failed": tally.failed,
                "still open": open_flowers,
            },
            last_seen,
        ),
    )


def opening_interval(
    pollinated_on: date, checks: Sequence[Seen], cut_closed_on: date | None = None
) -> OpeningInterval | None:
    """Return between which days the first capsule opened, or None if none is known to have set.

    The day of finding is never taken for the day of opening: the capsule opened somewhere after the
    last look that found it closed. A capsule cut green, aborted, eaten or still closed gives a
    lower end only.

    Parameters
    ----------
    pollinated_on : date
    checks : sequence of Seen
        In any order.
    cut_closed_on : date, optional
        The day capsules were harvested while all were still closed.

    Raises
    ------
    BadInput
        If something was seen before the pollination, or an open capsule on its very day.
    """
    looks = [(seen.day, seen.kind) for seen in checks]
    if cut_closed_on is not None:
        looks.append((cut_closed_on, "swelling"))
    if any(day < pollinated_on for day, _ in looks):
        raise BadInput(
            f"Something was seen before the day of pollination, {_day(pollinated_on)}.",
            field="checks",
        )
    if not any(kind in _SIGNS_OF_TAKE for _, kind in looks):
        return None
    opened_on = min((day for day, kind in looks if kind in _OPENED), default=None)
    if opened_on == pollinated_on:
        raise BadInput("A capsule cannot split on the day of pollination.", field="checks")
    closed_on = max(
        (
            day
            for day, kind in looks
            if kind in _SEEN_CLOSED and (opened_on is None or day < opened_on)
        ),
        default=pollinated_on,
    )
    return OpeningInterval(
        closed_until_day=(closed_on - pollinated_on).days,
        opened_by_day=None if opened_on is None else (opened_on - pollinated_on).days,
    )


def _add(tally: _Tally, seen: Seen, capsules_harvested: int) -> None:
    if seen.kind not in KINDS_OF_CHECK:
        raise BadInput(f"Nothing called {seen.kind!r} can be seen of a capsule.", field="checks")
    there = tally.flowers - tally.gone
    if seen.flowers is None:
        # Capsules already cut cannot abort; they do count as set.
        still = max(there - capsules_harvested, 0) if seen.kind in _LEAVING else there
    else:
        _require_there(seen, seen.flowers, there)
        still = seen.flowers
    tally.is_ripe_seen |= seen.kind in _RIPE
    if seen.kind in _SIGNS_OF_TAKE:
        tally.capsules_set = max(tally.capsules_set, still + tally.capsules_lost)
    if seen.kind == "aborted":
        without_capsule = min(still, there - tally.capsules_standing)
        tally.failed += without_capsule
        tally.capsules_lost += still - without_capsule
    elif seen.kind in _LEAVING:
        capsules = min(still, tally.capsules_standing)
        tally.capsules_lost += capsules
        tally.eaten_before_take += still - capsules


def _require_there(seen: Seen, flowers: int, there: int) -> None:
    if flowers < 1:
        raise BadInput("A check is of one flower or more.", field="checks")
    if flowers > there:
        raise BadInput(
            f"On {_day(seen.day)} {_count(flowers, 'flower')} were seen"
            f" {seen.kind.replace('_', ' ')}, but only {there} were still there.",
            field="checks",
        )


def _state(tally: _Tally, open_flowers: int, capsules_harvested: int) -> str:
    if open_flowers == 0:
        if capsules_harvested:
            return "harvested"
        return "lost" if tally.capsules_lost or tally.eaten_before_take else "failed"
    if tally.capsules_standing == 0 and not capsules_harvested:
        return "waiting"
    return "ripe" if tally.is_ripe_seen else "taken"


def _sentence(flowers: int, counts: dict[str, int], last_seen: date | None) -> str:
    parts = ", ".join(f"{number} {what}" for what, number in counts.items() if number)
    looked = f"Last looked at on {_day(last_seen)}." if last_seen else "Not looked at yet."
    return f"{_count(flowers, 'flower')}: {parts}. {looked}"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
