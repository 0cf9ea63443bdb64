"""What may be seen of a flower and taken from it on a day."""

from dataclasses import dataclass
from datetime import date

SIGNS_OF_TAKE = frozenset({"swelling", "colouring", "split", "shed"})
RIPE = frozenset({"colouring", "split"})
LEAVING = frozenset({"aborted", "eaten", "shed"})
OPENED = frozenset({"split", "shed"})
# Eaten is not among them: nobody saw whether the capsule was still closed when it went.
SEEN_CLOSED = frozenset(
    {"nothing_yet", "corolla_faded", "still_there", "swelling", "colouring", "aborted"}
)
NOTHING_TO_SEE = frozenset({"nothing_yet", "corolla_faded"})
KINDS_OF_CHECK = SEEN_CLOSED | OPENED | {"eaten"}
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
        How many of the flowers it was seen on that day. None for all: of what only a capsule can
        show, all that are known to have set, and before any has all that were still open.
    """

    day: date
    kind: str
    flowers: int | None = None


@dataclass(frozen=True)
class Taken:
    """Capsules that were harvested on one day."""

    day: date
    capsules: int


def day_in_words(day: date) -> str:
    """Write a day out, as sentences do."""
    return f"{day.day} {day:%B %Y}"
