"""What can be said of a flower by one tap."""

from dataclasses import dataclass

from crosses.calc.capsule import CapsuleState
from crosses.models import Check

# What is seen on most days; the rest stands on the flower's own page.
ONE_TAP_KINDS = [
    (Check.Kind.NOTHING_YET, "Nothing yet"),
    (Check.Kind.COROLLA_FADED, "Corolla faded"),
    (Check.Kind.SWELLING, "Swelling"),
    (Check.Kind.COLOURING, "Colouring"),
    (Check.Kind.SPLIT, "Split"),
    (Check.Kind.ABORTED, "Aborted"),
    (Check.Kind.EATEN, "Eaten"),
]
# Taps that count flowers, and those of them that only a capsule can show.
_COUNTS = frozenset({"swelling", "colouring", "split", "aborted", "eaten"})
_OF_A_CAPSULE = frozenset({"colouring", "split"})
MOST_NUMBERS = 6


@dataclass(frozen=True)
class Tap:
    """A button, or where several flowers are open the question on how many it was seen.

    `most` is what "all" stands for; numbers that have no button are typed on the flower's own page.
    """

    kind: str
    label: str
    numbers: tuple[int, ...] = ()
    most: int = 1
    all_words: str = ""


def taps_of(state: CapsuleState) -> list[Tap]:
    """Return what can be said of a flower by a tap, as it stands."""
    return [_tap(kind, label, state) for kind, label in ONE_TAP_KINDS]


def _tap(kind: Check.Kind, label: str, state: CapsuleState) -> Tap:
    is_of_set = kind in _OF_A_CAPSULE and state.capsules_open > 0
    most = state.capsules_open if is_of_set else state.open_flowers
    # Of several flowers with one capsule the tap means that one, and says so.
    if kind not in _COUNTS or state.open_flowers == 1:
        return Tap(kind.value, label)
    numbers = tuple(range(1, min(most - 1, MOST_NUMBERS) + 1))
    what = "that are set" if is_of_set else "that are open"
    return Tap(
        kind.value, label, numbers, most, f"all {most} {what}" if most > 1 else "the one set"
    )
