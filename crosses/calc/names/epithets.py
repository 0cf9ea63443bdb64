"""Epithets that are not Latin: what may be one, what is a number, and how names sort."""

import re
import unicodedata

from crosses.calc.names.words import is_seedling_number

LONGEST_EPITHET = 30

# International Code of Nomenclature for Cultivated Plants, ninth edition, chapter on the form of
# epithets: words for a kind of name or plant say nothing of their own (the list from memory).
_EMPTY_WORDS = frozenset(
    """
    cultivar cv form grex group hybrid hybrids maintenance mix mixture seedling selection
    series sport strain variety
    """.split()  # noqa: SIM905 (a list of words reads as words)
)

# Enough of the commonest to draw a person's eye; it is a hint and never a refusal.
_LATIN_WORDS = frozenset(
    """
    alba albus album atropurpurea aurea aureum aureus caerulea coccinea compacta erecta flava
    flore fulgens gracilis grandiflora hybrida lutea luteum magnifica major maxima minima
    minor nana nanum nanus nigra pendula plena pleno pumila purpurea rosea roseum roseus rubra
    rubrum semperflorens superba variegata variegatum variegatus violacea viridis
    """.split()  # noqa: SIM905 (a list of words reads as words)
)
_LATIN_ENDINGS = ("iflora", "iflorum", "iflorus", "ifolia", "ifolium", "ifolius", "issima", "ensis")

_QUOTES = "'\"`‘’“”„\N{ACUTE ACCENT}\N{SINGLE HIGH-REVERSED-9 QUOTATION MARK}"


def check_cultivar_epithet(text: str) -> tuple[str, ...]:
    """Return what stands against a proposed cultivar epithet, one sentence each; empty if nothing.

    An epithet has at most 30 characters (spaces and quotation marks not counted), is no number,
    holds more than words such as Seedling or Hybrid, begins its important words with capitals, and
    since 1 January 1959 is not in Latin form. The last is a hint: only a person can tell.
    (International Code of Nomenclature for Cultivated Plants; whether the epithet is already taken
    in its genus is for the registrar.)

    Parameters
    ----------
    text : str
        The epithet, with or without quotation marks.

    Examples
    --------
    >>> check_cultivar_epithet("Nettlemere Dusk")
    ()
    >>> check_cultivar_epithet("N-17")
    ("This is a seedling's number; it stands without quotation marks until the plant is named.",)

    """
    problems = []
    bare = text.strip()
    if any(mark in bare for mark in '"“”„'):
        problems.append("A cultivar epithet stands in single quotation marks, not double.")
    without_cv = re.sub(r"^\W*cv\.?\s+", "", bare, flags=re.IGNORECASE)
    if without_cv != bare:
        problems.append("Leave out 'cv.': the quotation marks say it.")
    epithet = without_cv.strip(_QUOTES + " ")
    if not epithet:
        return (*problems, "The epithet is missing.")
    return (*problems, *_problems_of_words(epithet))


def sort_key(text: str) -> str:
    """Return the key by which a written name sorts and is found, whatever its signs and quotes.

    The hybrid signs and the prefix notho- are no part of a name (Shenzhen Code, Art. H.3.2-3);
    case, accents, quotation marks and brackets do not count either.

    Examples
    --------
    >>> sort_key("×Agropogon littoralis")
    'agropogon littoralis'

    """
    spelled = "".join(
        character
        for character in unicodedata.normalize("NFKD", text)
        if not unicodedata.combining(character) and character not in _QUOTES
    )
    unsigned = re.sub(r"[×*+=()\[\]]|\b[xX]\b-?|\b[xX](?=[A-Z][a-z])", " ", spelled)
    without_notho = re.sub(r"\b(?:notho|n-)(?=(?:subsp|ssp|var|f)\.)", "", unsigned)
    return " ".join(without_notho.casefold().split())


def _problems_of_words(epithet: str) -> list[str]:
    words = epithet.split()
    if is_seedling_number(epithet):
        return [
            "This is a seedling's number; it stands without quotation marks until the plant is"
            " named."
        ]
    problems = []
    length = len("".join(words))
    if length > LONGEST_EPITHET:
        problems.append(f"{length} characters are too many; {LONGEST_EPITHET} are the most.")
    if len(epithet) == 1 or not any(character.isalpha() for character in epithet):
        problems.append("One letter, or figures alone, make no epithet.")
    if all(word.casefold().strip(".") in _EMPTY_WORDS for word in words):
        problems.append("Words such as Seedling, Hybrid or Variety make no epithet by themselves.")
    if not epithet[0].isupper() and epithet[0].isalpha():
        problems.append("Begin the epithet, and its important words, with a capital.")
    if any(sign in epithet for sign in "×+"):
        problems.append("A sign of hybrids is no part of an epithet.")
    if any(_looks_latin(word) for word in words):
        problems.append(
            "This looks like Latin, which is for epithets published before 1959 only (a hint)."
        )
    return problems


def _looks_latin(word: str) -> bool:
    plain = word.casefold()
    return plain in _LATIN_WORDS or plain.endswith(_LATIN_ENDINGS)
