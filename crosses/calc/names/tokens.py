"""Splitting a typed name into words, quoted epithets, signs and brackets."""

import re
import unicodedata
from dataclasses import dataclass
from typing import Literal, TypeAlias

Kind: TypeAlias = Literal["word", "quoted", "open", "close", "cross", "plus", "equals", "sex"]


@dataclass(frozen=True)
class Token:
    """One piece of a typed name; for a sex mark the text is female or male."""

    kind: Kind
    text: str


NOTE_OF_SIGN = "The sign of a cross is the multiplication sign."

_SIGNS: dict[str, Kind] = {
    "open": "open",
    "close": "close",
    "cross": "cross",
    "plus": "plus",
    "equals": "equals",
}

# Signs people find on their keyboards or on the web for those that are meant.
_LOOK_ALIKE = {
    ord("\N{ACUTE ACCENT}"): "`",
    ord("\N{SINGLE HIGH-REVERSED-9 QUOTATION MARK}"): "‘",
    ord("\N{MULTIPLICATION X}"): "×",
    ord("\N{HEAVY MULTIPLICATION X}"): "×",
    ord("\N{VECTOR OR CROSS PRODUCT}"): "×",
}

# A closing quote is one that a word ends on: the apostrophe of Chater's is not.
_BOUNDARY = r"(?=$|[\s()\[\]×*+=])"
_PIECES = re.compile(
    r"(?P<sex>[♀♂]|\((?:[♀♂fFmM]|female|male)\))"
    r"|(?P<double>[\"“”„](?P<in_double>[^\"“”„]+)[\"“”„])"
    rf"|(?P<straight>'(?P<in_straight>.+?)'{_BOUNDARY})"
    rf"|(?P<curly>[‘’`](?P<in_curly>.+?)[’‘`']{_BOUNDARY})"
    r"|(?P<open>[(\[])|(?P<close>[)\]])"
    r"|(?P<cross>[×*])|(?P<plus>\+)|(?P<equals>=)"
    r"|(?P<word>[^\s()\[\]×*+=]+)"
)

# An x at the front of a word is a sign only before a capital or a hyphen; the x of Xanthosoma,
# xanthina and Phlox is a letter.
_X_AT_FRONT = re.compile(r"[xX](?:-(?=[A-Za-z])|(?=[A-Z](?:[a-z]|\.)))")
_ABBREVIATION_RUN_ON = re.compile(r"([A-Z][a-z]{0,3}\.)(?=[a-z×'])")


def split(text: str) -> tuple[list[Token], list[str]]:
    """Return the tokens of a typed name, and notes on what was typed otherwise than written."""
    tokens: list[Token] = []
    notes: list[str] = []
    plain = "".join(
        character
        for character in unicodedata.normalize("NFC", text).translate(_LOOK_ALIKE)
        if unicodedata.category(character) != "Cf"
    )
    for piece in _PIECES.finditer(plain):
        kind, typed = str(piece.lastgroup), piece.group()
        tokens += _tokens_of(piece, kind, typed, notes)
    return tokens, list(dict.fromkeys(notes))


def _tokens_of(piece: re.Match[str], kind: str, typed: str, notes: list[str]) -> list[Token]:
    if kind in {"double", "straight", "curly"}:
        if kind == "double" or typed[0] == "`":
            notes.append("A cultivar epithet stands in single quotation marks.")
        return [Token("quoted", _plain_apostrophes(piece.group(f"in_{kind}")))]
    if kind == "word":
        return _tokens_of_word(typed, notes)
    if typed == "*":
        notes.append(NOTE_OF_SIGN)
    if typed in "[]":
        notes.append("Square brackets were made round.")
    if kind == "sex":
        return [Token("sex", "female" if set(typed) & set("♀fF") else "male")]
    return [Token(_SIGNS[kind], typed)]


def _tokens_of_word(typed: str, notes: list[str]) -> list[Token]:
    if typed in {"x", "X"}:
        notes.append(NOTE_OF_SIGN)
        return [Token("cross", typed)]
    in_front = _X_AT_FRONT.match(typed)
    if in_front:
        notes.append(NOTE_OF_SIGN)
        return [Token("cross", "x"), *_tokens_of_word(typed[in_front.end() :], notes)]
    run_on = _ABBREVIATION_RUN_ON.match(typed)
    if run_on:
        rest, _ = split(typed[run_on.end() :])
        return [Token("word", run_on.group(1)), *rest]
    return [Token("word", typed.replace("’", "'"))]


def _plain_apostrophes(inside: str) -> str:
    """Make apostrophes straight, but for one a word ends on: straight it would close the quotes."""
    straight = re.sub("[‘’`]", "'", " ".join(inside.split()))
    return re.sub(f"'{_BOUNDARY}", "’", straight)
