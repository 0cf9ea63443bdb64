"""What the checks of a pollination add up to; the state is never typed.

A pollination is one flower, or several treated alike. Flowers leave it in four ways: they fail
(abort without a sign of taking), are lost (eaten, or a capsule aborts, or sheds its seed unseen),
are harvested, or are closed because nobody ever saw them set and by the rules of the trade nothing
can come of them any more. What is left is open: somebody still has to look.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from crosses.calc.errors import BadInput
from crosses.calc.looks import (
    KINDS_OF_CHECK,
    LEAVING,
    NOTHING_TO_SEE,
    RIPE,
    SIGNS_OF_TAKE,
    Seen,
    Taken,
    day_in_words,
)
from crosses.calc.opening import OpeningInterval, opening_interval

__all__ = [
    "KINDS_OF_CHECK",
    "CapsuleState",
    "OpeningInterval",
    "Seen",
    "Taken",
    "capsule_state",
    "opening_interval",
]


# An ovary that took shows it within two weeks of fading in quick genera and within six in slow ones
# (common practice, no source).
DAYS_TO_SWELL = 42


@dataclass(frozen=True)
class CapsuleState:
    """Where a pollination stands.

    Attributes
    ----------
    state : str
        waiting, taken, ripe, harvested, lost or failed.
    open_flowers : int
        Flowers and capsules somebody still has to look at.
    capsules_open : int
        Those of them that are known to have set.
    ripe : int
        Those of them that were seen colouring or split.
    capsules_set : int
        The most capsules known to have formed, those harvested and lost since included.
    capsules_harvested : int
    lost : int
        Capsules that aborted or shed their seed, and whatever was eaten.
    failed : int
        Flowers that aborted without a sign of taking, and those closed as never seen set.
    never_set : int
        Those closed as never seen set.
    why_closed : str
        The rule by which they were closed; empty if none was.
    last_seen : date or None
        Day of the latest check.
    sentence : str
        The same for a person to read.
    """

    state: str
    open_flowers: int
    capsules_open: int
    ripe: int
    capsules_set: int
    capsules_harvested: int
    lost: int
    failed: int
    never_set: int
    why_closed: str
    last_seen: date | None
    sentence: str

    @property
    def may_bear(self) -> int:
        """Flowers that could still turn out to bear a capsule, those closed included."""
        return self.open_flowers + self.never_set


@dataclass
class _Tally:
    """The running count while what happened is read in order of day."""

    flowers: int
    to_be_harvested: int
    harvested: int = 0
    capsules_set: int = 0
    capsules_lost: int = 0
    eaten_before_take: int = 0
    failed: int = 0
    ripe: int = 0
    is_set_counted: bool = False
    harvest_time_on: date | None = None
    faded_on: date | None = None
    nothing_on: date | None = None
    reopened_on: date | None = None

    @property
    def gone(self) -> int:
        """Flowers no longer there, those harvested aside."""
        return self.capsules_lost + self.eaten_before_take + self.failed

    @property
    def capsules_standing(self) -> int:
        """Capsules seen so far and not lost, those harvested since included."""
        return self.capsules_set - self.capsules_lost

    @property
    def capsules_open(self) -> int:
        """Capsules seen so far that are still on the plant."""
        return max(self.capsules_standing - self.harvested, 0)


def capsule_state(flowers: int, happened: Sequence[Seen | Taken]) -> CapsuleState:
    """Add the checks and harvests of one pollination up to its state.

    They are read in order of day, those of one day as given. Swelling, colouring and split set
    capsules. A flower that aborts is taken to be one without a capsule as long as there is one,
    because those drop first; after that it is a capsule lost. What is eaten is a capsule as long as
    there is one; a flower eaten before it took is lost too, for it says nothing about the cross.
    Capsules harvested are taken to be the ripe ones first.

    Flowers never seen set are closed in two cases. Those that swelled were counted, and all of them
    have been harvested or have shed: the others did not take. Or all faded, and six weeks later a
    look still found nothing swollen. A look that finds them still there opens them again.

    Parameters
    ----------
    flowers : int
        Flowers pollinated, at least 1.
    happened : sequence of Seen or Taken
        In any order.

    Raises
    ------
    BadInput
        If a count is below its least, a kind is not known, or more flowers are accounted for than
        were pollinated.

    Examples
    --------
    >>> from datetime import date
    >>> swelling, taken = Seen(date(2027, 5, 2), "swelling", 5), Taken(date(2027, 7, 9), 5)
    >>> state = capsule_state(6, [swelling, taken])
    >>> state.sentence
    '6 flowers: 5 set, 5 harvested, 1 never set. Last looked at on 2 May 2027.'
    >>> state.why_closed
    'All 5 that were seen to set are gone; the other never was.'
    """
    if flowers < 1:
        raise BadInput("A pollination is of one flower or more.", field="flowers")
    cut = [each for each in happened if isinstance(each, Taken)]
    if any(each.capsules < 0 for each in cut):
        raise BadInput("Capsules harvested cannot be below 0.", field="capsules_harvested")
    in_order = sorted(happened, key=lambda each: each.day)
    tally = _Tally(flowers, to_be_harvested=sum(each.capsules for each in cut))
    for each in in_order:
        if isinstance(each, Taken):
            _harvest(tally, each)
        else:
            _add(tally, each)
    accounted_for = tally.gone + tally.harvested
    if accounted_for > flowers:
        raise BadInput(
            f"{_count(tally.gone, 'flower')} gone and {tally.harvested} harvested make"
            f" {accounted_for}, but only {flowers} were pollinated.",
            field="capsules_harvested",
        )
    last_seen = max((each.day for each in in_order if isinstance(each, Seen)), default=None)
    return _summed_up(tally, flowers - accounted_for, last_seen)


def _summed_up(tally: _Tally, left: int, last_seen: date | None) -> CapsuleState:
    why_closed = _why_closed(tally, left)
    never_set = left if why_closed else 0
    open_flowers = left - never_set
    lost = tally.capsules_lost + tally.eaten_before_take
    capsules_set = max(tally.capsules_set, tally.harvested + tally.capsules_lost)
    counts = {
        "set": capsules_set,
        "harvested": tally.harvested,
        "lost": lost,
        "failed": tally.failed,
        "never set": never_set,
        "still open": open_flowers,
    }
    return CapsuleState(
        state=_state(tally, open_flowers),
        open_flowers=open_flowers,
        capsules_open=min(tally.capsules_open, open_flowers),
        ripe=min(tally.ripe, open_flowers),
        capsules_set=capsules_set,
        capsules_harvested=tally.harvested,
        lost=lost,
        failed=tally.failed + never_set,
        never_set=never_set,
        why_closed=why_closed,
        last_seen=last_seen,
        sentence=_sentence(tally.flowers, counts, last_seen),
    )


def _harvest(tally: _Tally, cut: Taken) -> None:
    if cut.capsules:
        tally.harvested += cut.capsules
        tally.ripe = max(tally.ripe - cut.capsules, 0)
        tally.harvest_time_on = cut.day


def _add(tally: _Tally, seen: Seen) -> None:
    if seen.kind not in KINDS_OF_CHECK:
        raise BadInput(f"Nothing called {seen.kind!r} can be seen of a capsule.", field="checks")
    there = tally.flowers - tally.gone
    if seen.flowers is not None:
        _require_there(seen, seen.flowers, there)
    _remember(tally, seen)
    if seen.kind in SIGNS_OF_TAKE:
        _set(tally, seen, there)
    if seen.kind in RIPE:
        tally.ripe = max(tally.ripe, _bearing(tally, seen, there))
    elif seen.kind in LEAVING:
        _leave(tally, seen, there)


def _remember(tally: _Tally, seen: Seen) -> None:
    """Keep the days by which flowers never seen set are closed, and opened again."""
    if seen.kind == "corolla_faded" and tally.faded_on is None:
        tally.faded_on = seen.day
    if seen.kind in NOTHING_TO_SEE:
        tally.nothing_on = seen.day
    if seen.kind == "still_there":
        tally.reopened_on = seen.day
    if seen.kind == "shed":
        tally.harvest_time_on = seen.day
    # Of a capsule that splits nobody says how many others there are; of those swelling one does.
    tally.is_set_counted |= seen.kind == "swelling"


def _bearing(tally: _Tally, seen: Seen, there: int) -> int:
    """Capsules a look speaks of; one that says no number speaks of those known to have set."""
    still_on = max(there - tally.harvested, 0)
    if seen.flowers is not None:
        return seen.flowers
    return min(tally.capsules_open or still_on, still_on)


def _set(tally: _Tally, seen: Seen, there: int) -> None:
    bearing = min(_bearing(tally, seen, there) + tally.harvested, there)
    tally.capsules_set = max(tally.capsules_set, bearing + tally.capsules_lost)


def _leave(tally: _Tally, seen: Seen, there: int) -> None:
    # Capsules already cut, or cut later, cannot abort; they do count as set.
    still = max(there - tally.to_be_harvested, 0) if seen.flowers is None else seen.flowers
    if seen.kind == "shed" and seen.flowers is None:
        still = min(still, _bearing(tally, seen, there))
    if seen.kind == "aborted":
        without_capsule = min(still, there - tally.capsules_standing)
        tally.failed += without_capsule
        tally.capsules_lost += still - without_capsule
    else:
        capsules = min(still, tally.capsules_standing)
        tally.capsules_lost += capsules
        tally.eaten_before_take += still - capsules
        if seen.kind == "shed":
            tally.ripe = max(tally.ripe - capsules, 0)
    tally.ripe = min(tally.ripe, tally.capsules_open)


def _why_closed(tally: _Tally, left: int) -> str:
    """Return the rule by which flowers never seen set are closed; empty while one may still set."""
    if not left or tally.capsules_open:
        return ""
    over, again = tally.harvest_time_on, tally.reopened_on
    if over and tally.is_set_counted:
        if again and again >= over:
            return ""
        rest = "the other never was" if left == 1 else f"the other {left} never were"
        one = "The one that was seen to set is"
        many = f"All {tally.capsules_set} that were seen to set are"
        return f"{one if tally.capsules_set == 1 else many} gone; {rest}."
    if tally.capsules_set or tally.harvested or not tally.faded_on or not tally.nothing_on:
        return ""
    since = max(tally.faded_on, again) if again else tally.faded_on
    if tally.nothing_on - since < timedelta(days=DAYS_TO_SWELL):
        return ""
    return (
        f"It had faded by {day_in_words(tally.faded_on)}, and nothing had swelled by"
        f" {day_in_words(tally.nothing_on)}."
    )


def _require_there(seen: Seen, flowers: int, there: int) -> None:
    if flowers < 1:
        raise BadInput("A check is of one flower or more.", field="checks")
    if flowers > there:
        raise BadInput(
            f"On {day_in_words(seen.day)} {_count(flowers, 'flower')} were seen"
            f" {seen.kind.replace('_', ' ')}, but only {there} were still there.",
            field="checks",
        )


def _state(tally: _Tally, open_flowers: int) -> str:
    if open_flowers == 0:
        if tally.harvested:
            return "harvested"
        return "lost" if tally.capsules_lost or tally.eaten_before_take else "failed"
    if tally.capsules_open == 0 and not tally.harvested:
        return "waiting"
    return "ripe" if tally.ripe else "taken"


def _sentence(flowers: int, counts: dict[str, int], last_seen: date | None) -> str:
    parts = ", ".join(f"{number} {what}" for what, number in counts.items() if number)
    looked = f"Last looked at on {day_in_words(last_seen)}." if last_seen else "Not looked at yet."
    return f"{_count(flowers, 'flower')}: {parts}. {looked}"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
