"""Words that mean something in a name, and the shapes of those that name something."""

import re
from collections.abc import Sequence
from typing import Literal, TypeAlias

KindOfUnnamed: TypeAlias = Literal["self", "open", "unknown", "none"]

UNNAMED: dict[tuple[str, ...], KindOfUnnamed] = {
    ("open", "pollinated"): "open",
    ("open-pollinated",): "open",
    ("open",): "open",
    ("op",): "open",
    ("o.p.",): "open",
    ("self",): "self",
    ("selfed",): "self",
    ("no", "pollen"): "none",
    ("unknown",): "unknown",
    ("?",): "unknown",
}
RANKS = {
    "subsp.": "subsp.",
    "subsp": "subsp.",
    "ssp.": "subsp.",
    "ssp": "subsp.",
    "var.": "var.",
    "var": "var.",
    "f.": "f.",
    "forma": "f.",
    "nothosubsp.": "nothosubsp.",
    "nothossp.": "nothosubsp.",
    "nsubsp.": "nothosubsp.",
    "nothovar.": "nothovar.",
    "nvar.": "nothovar.",
    "nothof.": "nothof.",
}
QUALIFIERS = {"aff.": "aff.", "aff": "aff.", "cf.": "cf.", "cf": "cf."}
PLACEHOLDERS = {
    "sp.": "sp.",
    "sp": "sp.",
    "spp.": "sp.",
    "hybrid": "hybrid",
    "hyb.": "hybrid",
    "hybrids": "hybrid",
}
SEEDLING_WORDS = frozenset({"seedling", "sdlg", "sdlg."})
NUMBER_WORDS = frozenset({"no", "no.", "nr", "nr.", "number", "#"})
GROUP_WORDS = {"Group": "Group", "group": "Group", "Gp": "Group", "grex": "grex", "gx": "grex"}
KINDS_OF_GROUP: dict[str, Literal["group", "grex"]] = {"Group": "group", "grex": "grex"}
ORDER = ("group", "grex", "unquoted", "cultivar", "seedling")
SMALL_WORDS = frozenset(
    """
    and by d' da de del den der des di du in la le of on the van von
    """.split()  # noqa: SIM905 (a list of words reads as words)
)

ABBREVIATION = re.compile(r"[A-Z][a-z]{0,3}\.")
GENUS = re.compile(r"[A-Z][^\W\d_A-Z]+")
HYPHENATED_GENUS = re.compile(r"[A-Z][^\W\d_A-Z]+-[A-Za-z][^\W\d_A-Z]+")
# Words that end in a full stop are authors' (Hook.), but for a person's title.
CAPITALISED = re.compile(r"(?:Dr|Mr|Mrs|St)\.|[A-Z][\w'&-]+")
LATIN_EPITHET = re.compile(r"[^\W\d_A-Z]{2,}(?:-[^\W\d_A-Z]+)*")
# Words with a meaning of their own are neither a genus nor an epithet.
RESERVED = frozenset(
    {
        "ex",
        "cv",
        "cv.",
        *(words[0] for words in UNNAMED),
        *RANKS,
        *QUALIFIERS,
        *PLACEHOLDERS,
        *SEEDLING_WORDS,
        *NUMBER_WORDS,
        *(word.casefold() for word in GROUP_WORDS),
    }
)

# A number such as N-17, 99-13F or 2027/14.
SEEDLING_NUMBER = re.compile(r"#?[A-Za-z]{0,4}[-./]?\d[\w./-]*")


def is_seedling_number(text: str) -> bool:
    """Return whether a word is a seedling's number, and so not yet a name."""
    return SEEDLING_NUMBER.fullmatch(text) is not None


def is_capitalised(word: str) -> bool:
    """Return whether a word may begin or end a name that is not Latin and has no quotes."""
    return (
        CAPITALISED.fullmatch(word) is not None
        and word.casefold() not in RESERVED
        and not is_seedling_number(word)
    )


def are_capitalised(words: Sequence[str]) -> bool:
    """Return whether words make such a name; small ones (Cloth of Gold) may stand inside it."""
    return (
        bool(words)
        and is_capitalised(words[0])
        and is_capitalised(words[-1])
        and all(
            is_capitalised(word) or (word in SMALL_WORDS and is_capitalised(after))
            for word, after in zip(words, [*words[1:], ""], strict=True)
        )
    )
