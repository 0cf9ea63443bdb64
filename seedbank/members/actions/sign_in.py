"""Wrong tries at signing in are counted, so that passwords cannot be guessed one after another."""

import datetime
import hashlib

from seedbank.members.actions.tally import count_one, counted, forget

MOST_WRONG_TRIES = 5
WAIT = datetime.timedelta(minutes=15)


def _key(email: str, address: str) -> str:
    # Hashed: an e-mail need not lie about there, nor where somebody tried from.
    return "sign-in-" + hashlib.sha256(f"{email.strip().lower()} {address}".encode()).hexdigest()


def must_wait(email: str, address: str, *, at: datetime.datetime) -> bool:
    """Say whether this e-mail was tried wrongly too often from this network address."""
    return counted(_key(email, address), at=at) >= MOST_WRONG_TRIES


def note_wrong_try(email: str, address: str, *, at: datetime.datetime) -> None:
    """Count a wrong try; the wait runs from the first of them."""
    count_one(_key(email, address), at=at, window=WAIT)


def forget_wrong_tries(email: str, address: str) -> None:
    forget(_key(email, address))
