"""Names that stand for members in what is published, and lead back to nobody.

Wishes are published so that anybody can share out again; whose they are is nobody's business. A
pseudonym is a keyed digest of the member's number: without the key, which is never published, not
even somebody with the list of all members can tell which is whose. It is the same in all runs of
a round and another one in the next round.
"""

import hashlib
import hmac
from collections.abc import Iterable
from dataclasses import replace

from crosses.calc.errors import BadInput
from seedbank.calc.allocation.model import Inputs

KEY_BYTES = 32
# 48 bits: among 10,000 members two would share one once in five million rounds.
_DIGITS = 12


def pseudonym(key: bytes, number: str) -> str:
    """Return what stands for a member in published files: 12 hexadecimal digits of HMAC-SHA-256.

    Raises
    ------
    BadInput
        If the key is not 32 bytes long.

    Examples
    --------
    >>> pseudonym(bytes(32), "0001")
    '0f9d72128cfe'

    """
    if len(key) != KEY_BYTES:
        raise BadInput("The key of pseudonyms is 32 bytes.", field="key")
    return hmac.new(key, number.encode(), hashlib.sha256).hexdigest()[:_DIGITS]


def pseudonyms(key: bytes, numbers: Iterable[str]) -> dict[str, str]:
    """Return each number's pseudonym.

    Raises
    ------
    BadInput
        If two members would share one.
    """
    found = {number: pseudonym(key, number) for number in numbers}
    if len(set(found.values())) < len(found):
        raise BadInput("Two members have one pseudonym: open the round anew.", field="key")
    return found


def veiled(inputs: Inputs, key: bytes) -> Inputs:
    """Return inputs with pseudonyms in place of numbers, everywhere and in their own order.

    Households are veiled too: their keys stand for families.
    """
    names = pseudonyms(key, (member.number for member in inputs.members))
    members = [
        replace(
            member,
            number=names[member.number],
            household=pseudonym(key, member.household) if member.household else "",
        )
        for member in inputs.members
    ]
    bars = [replace(bar, member=names[bar.member]) for bar in inputs.bars]
    frozen = [replace(packet, member=names[packet.member]) for packet in inputs.frozen]
    # In the order of the pseudonyms, or that of the numbers would show through.
    return replace(
        inputs,
        members=tuple(sorted(members, key=lambda each: each.number)),
        order=tuple(sorted(names[number] for number in inputs.order)),
        bars=tuple(sorted(bars, key=lambda each: (each.member, each.line.encode()))),
        frozen=tuple(sorted(frozen, key=lambda each: (each.member, each.line.encode()))),
        make_good=tuple(names[number] for number in inputs.make_good),
    )
