"""Numbers people copy by hand: a letter that says what it is, a serial, two check digits.

The check is ISO/IEC 7064, MOD 97-10, taken over the letter (A = 10 ... Z = 35) and the serial.
It finds every single mistyped digit and every swap of two digits. Because the letter is part of
it, a plant's number typed where a packet's is wanted is refused even with the letter left off.
"""

import unicodedata

from crosses.calc.errors import BadInput

KINDS: dict[str, str] = {
    "plant": "P",
    "cross": "C",
    "lot": "L",
    "packet": "S",
    "parcel": "R",
    "sowing": "W",
    "donation": "D",
    "harvest": "H",
    "pollination": "F",
}
"""The letter of each kind of thing that has a number."""

# Six digits, so that a number typed without its letter still has a fixed shortest length; nine, so
# that a run of digits from a barcode or a telephone is refused for its length and not by chance.
SERIAL_DIGITS_LEAST = 6
SERIAL_DIGITS_MOST = 9
_CHECK_DIGITS = 2

# People copy the hyphen as whatever dash their keyboard gives.
_DASHES = "-\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{FIGURE DASH}\N{EN DASH}\N{EM DASH}\N{MINUS SIGN}"


def check_digits(text: str) -> str:
    """Return the two MOD 97-10 check digits of digits and letters (ISO/IEC 7064).

    A letter counts as two digits, A = 10 ... Z = 35. The text followed by its check digits leaves 1
    when divided by 97.

    Raises
    ------
    BadInput
        If the text is empty or holds anything but the digits 0-9 and the letters A-Z.

    Examples
    --------
    >>> check_digits("794")
    '44'
    """
    if not (text.isascii() and text.isalnum()):
        raise BadInput("Check digits can only be taken over letters A-Z and digits.", field="text")
    as_digits = "".join(str(int(character, 36)) for character in text)
    return f"{98 - int(as_digits) * 100 % 97:02d}"


def write_number(kind: str, serial: int) -> str:
    """Return the written form of the number of one thing.

    Parameters
    ----------
    kind : str
        One of the keys of `KINDS`.
    serial : int
        1 for the first of its kind, and so on.

    Raises
    ------
    BadInput
        If the kind is not known, or the serial is below 1 or has over nine digits.

    Examples
    --------
    >>> write_number("packet", 123)
    'S000123-80'
    """
    letter = _letter_of(kind)
    if not 1 <= serial < 10**SERIAL_DIGITS_MOST:
        raise BadInput(
            f"A serial runs from 1 to {10**SERIAL_DIGITS_MOST - 1}, not {serial}.", field="serial"
        )
    body = f"{letter}{serial:0{SERIAL_DIGITS_LEAST}d}"
    return f"{body}-{check_digits(body)}"


def read_number(text: str, *, kind: str) -> str:
    """Return a typed number in its written form, or say what is wrong with it.

    Lower case, spaces, any dash or none, full-width digits, and a missing letter are understood.

    Parameters
    ----------
    text : str
        What was typed or scanned.
    kind : str
        The kind of thing whose number is wanted; one of the keys of `KINDS`.

    Raises
    ------
    BadInput
        With one sentence each for: nothing typed; a letter among the digits; too few or too many
        digits; the number of another kind of thing; a check that fails.

    Examples
    --------
    >>> read_number("s000123 80", kind="packet")
    'S000123-80'
    """
    wanted = _letter_of(kind)
    typed = "".join(
        character
        for character in unicodedata.normalize("NFKC", text).upper()
        if not character.isspace() and character not in _DASHES
    )
    if not typed:
        raise BadInput(f"Type the number of the {kind}.", field="text")
    letter, digits = _split_letter(typed, wanted)
    if digits and not (digits.isascii() and digits.isdigit()):
        raise BadInput(
            f"After its letter the number of a {kind} has digits only"
            " (a round O may be a zero, an l a one).",
            field="text",
        )
    _require_length(kind, digits)
    body, check = letter + digits[:-_CHECK_DIGITS], digits[-_CHECK_DIGITS:]
    if check_digits(body) != check:
        raise BadInput(
            f"This is not the number of a {kind}: one digit is mistyped or two are swapped."
            " Look at the label again.",
            field="text",
        )
    if letter != wanted:
        raise BadInput(
            f"That is the number of a {_kind_of(letter)}, not of a {kind}.", field="text"
        )
    return f"{body}-{check}"


def _letter_of(kind: str) -> str:
    letter = KINDS.get(kind)
    if letter is None:
        raise BadInput(f"Nothing called {kind!r} has a number.", field="kind")
    return letter


def _kind_of(letter: str) -> str:
    return next(kind for kind, its_letter in KINDS.items() if its_letter == letter)


def _split_letter(typed: str, wanted: str) -> tuple[str, str]:
    if typed[0] in KINDS.values():
        return typed[0], typed[1:]
    return wanted, typed


def _require_length(kind: str, digits: str) -> None:
    serial = digits[:-_CHECK_DIGITS]
    # Leading zeros only ever fill up to six, so S0000123 holds a digit too many.
    fills_up_too_far = len(serial) > SERIAL_DIGITS_LEAST and serial.startswith("0")
    if SERIAL_DIGITS_LEAST <= len(serial) <= SERIAL_DIGITS_MOST and not fills_up_too_far:
        return
    example = write_number(kind, 123)
    raise BadInput(
        f"Digits typed: {len(digits)}. The number of a {kind} looks like {example}:"
        f" {SERIAL_DIGITS_LEAST} digits (more only once those are used up) and two to check them.",
        field="text",
    )
