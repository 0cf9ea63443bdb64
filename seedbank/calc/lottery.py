"""The published draw: an order of members that nobody can steer and anybody can check.

Before wishes close the society publishes the `commitment` to a secret, and names a public value
that will only be known later (a state lottery, a beacon round). Afterwards it enters that value
and reveals the secret; the order follows from both by SHA-256 alone, so it needs no trust in the
person at the desk, nor in a version of this program.

The draw never looks at the wishes: a corrected order form must not reshuffle everybody, and a
member who leaves must not change the order of the others.
"""

import hashlib
import unicodedata
from collections.abc import Iterable

from crosses.calc.errors import BadInput

SECRET_BYTES = 32
DIGEST_BYTES = 32


def commitment(secret: bytes) -> str:
    """Return what is published while the secret is still kept: its SHA-256 in hexadecimal.

    Parameters
    ----------
    secret : bytes
        32 bytes from the operating system's source of randomness.

    Raises
    ------
    BadInput
        If the secret is not 32 bytes long.

    Examples
    --------
    >>> commitment(bytes(32))
    '66687aadf862bd776c8fc18b8e9f8e20089714856ee233b3902a591d0d5f2925'
    """
    return hashlib.sha256(_checked_secret(secret)).hexdigest()


def seed(event_id: str, secret: bytes, public_value: str) -> bytes:
    """Return the 32 bytes from which the whole order follows.

    SHA-256 of, one after the other: the text ``seed-exchange seed v1`` and a zero byte; the
    length of the event id as four bytes, most significant first; the event id; the secret; the
    public value. Both texts are taken as published, letter for letter, and written as UTF-8.

    Parameters
    ----------
    event_id : str
        Name of the round as published.
    secret : bytes
        The 32 bytes that were committed to.
    public_value : str
        The value named beforehand and known only after wishes closed.

    Raises
    ------
    BadInput
        If the secret is not 32 bytes, or the event id or the public value is empty.

    Examples
    --------
    >>> seed("Seed list 2027", bytes(32), "4 8 15 16 23 42").hex()[:16]
    '7d2b44f0dacd5cda'
    """
    if not event_id:
        raise BadInput("The round needs a name before a draw can be made.", field="event_id")
    if not public_value:
        raise BadInput("Enter the public value the draw waits for.", field="public_value")
    event = event_id.encode()
    return hashlib.sha256(
        b"seed-exchange seed v1\0"
        + len(event).to_bytes(4, "big")
        + event
        + _checked_secret(secret)
        + public_value.encode()
    ).digest()


def member_key(draw_seed: bytes, member_number: str) -> bytes:
    """Return the 32 bytes that decide a member's place: the smallest comes first.

    SHA-256 of, one after the other: the text ``seed-exchange lottery v1`` and a zero byte; the
    seed; the length of the member number as four bytes, most significant first; the member
    number in Unicode NFC, written as UTF-8.

    Raises
    ------
    BadInput
        If the seed is not 32 bytes or the member number is empty.
    """
    if len(draw_seed) != DIGEST_BYTES:
        raise BadInput("The seed of a draw is 32 bytes, 64 hexadecimal digits.", field="seed")
    if not member_number:
        raise BadInput("A member without a number cannot be drawn.", field="member_number")
    number = unicodedata.normalize("NFC", member_number).encode()
    return hashlib.sha256(
        b"seed-exchange lottery v1\0" + draw_seed + len(number).to_bytes(4, "big") + number
    ).digest()


def order(draw_seed: bytes, member_numbers: Iterable[str]) -> tuple[str, ...]:
    """Return the member numbers, in Unicode NFC, in the order they were drawn.

    Parameters
    ----------
    draw_seed : bytes
        The 32 bytes of `seed`.
    member_numbers : iterable of str
        Each member's number as it stood when wishes closed; the order given does not matter.

    Raises
    ------
    BadInput
        If a number is empty or stands twice.

    Examples
    --------
    >>> order(bytes(32), ["1", "2", "3"])
    ('1', '3', '2')
    """
    keys: dict[str, bytes] = {}
    for written in member_numbers:
        number = unicodedata.normalize("NFC", written)
        if number in keys:
            raise BadInput(f"Member {number} stands in the draw twice.", field="member_numbers")
        keys[number] = member_key(draw_seed, number)
    return tuple(sorted(keys, key=lambda number: (keys[number], number.encode())))


def _checked_secret(secret: bytes) -> bytes:
    if len(secret) != SECRET_BYTES:
        raise BadInput("The secret of a draw is 32 bytes, 64 hexadecimal digits.", field="secret")
    return secret
