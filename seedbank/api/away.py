"""A database that is busy, away, full or not to be written to: said as such, and when to come again."""

from dataclasses import dataclass

from django.db import DatabaseError, InterfaceError, InternalError, OperationalError


@dataclass(frozen=True)
class Away:
    """What is the matter, in words, and in how many seconds it is worth asking again."""

    words: str
    seconds: int


BUSY = Away("Another piece of work has kept the database too long.", 5)
READ_ONLY = Away("The database can only be read just now.", 60)
FULL = Away("The disk of the database is full; the administrator has to make room.", 300)
GONE = Away("The database cannot be reached just now.", 15)

# What SQLite and PostgreSQL say, in the words of either.
_SAID = (
    (("is locked", "lock timeout", "deadlock", "statement timeout"), BUSY),
    (("readonly database", "read-only transaction", "read-only file"), READ_ONLY),
    (("disk is full", "no space left", "could not extend file"), FULL),
)


def away_of(error: BaseException | None) -> Away | None:
    """Return what a crash says of the database, or None where the fault is ours."""
    seen: set[int] = set()
    while error is not None and id(error) not in seen:
        seen.add(id(error))
        if isinstance(error, DatabaseError | InterfaceError):
            found = _of(error)
            if found is not None:
                return found
        error = error.__cause__ or error.__context__
    return None


def _of(error: Exception) -> Away | None:
    said = str(error).lower()
    for words, away in _SAID:
        if any(word in said for word in words):
            return away
    # An InternalError is a fault of ours unless it says one of these things.
    is_gone = isinstance(error, OperationalError | InterfaceError)
    return GONE if is_gone and not isinstance(error, InternalError) else None
