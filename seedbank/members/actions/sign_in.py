"""Wrong tries at signing in are counted, so that passwords cannot be guessed one after another."""

import hashlib

from django.core.cache import cache

MOST_WRONG_TRIES = 5
WAIT_SECONDS = 15 * 60


def _key(email: str, address: str) -> str:
    # Hashed: an e-mail may hold what a cache refuses in its keys, and need not lie about there.
    return "sign-in-" + hashlib.sha256(f"{email.strip().lower()} {address}".encode()).hexdigest()


def must_wait(email: str, address: str) -> bool:
    """Say whether this e-mail was tried wrongly too often from this network address."""
    tries: int = cache.get(_key(email, address), 0)
    return tries >= MOST_WRONG_TRIES


def note_wrong_try(email: str, address: str) -> None:
    key = _key(email, address)
    # The wait runs from the first wrong try; `add` does nothing where a count is running.
    if not cache.add(key, 1, WAIT_SECONDS):
        cache.incr(key)


def forget_wrong_tries(email: str, address: str) -> None:
    cache.delete(_key(email, address))
