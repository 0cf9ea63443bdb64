"""Reading what one plant is called."""

from collections.abc import Callable
from dataclasses import replace

from crosses.calc.errors import BadInput
from crosses.calc.names.cursor import Cursor
from crosses.calc.names.genus import GenusReader
from crosses.calc.names.nodes import Epithet, Name
from crosses.calc.names.words import (
    GROUP_WORDS,
    KINDS_OF_GROUP,
    NUMBER_WORDS,
    ORDER,
    PLACEHOLDERS,
    QUALIFIERS,
    RANKS,
    SEEDLING_WORDS,
    SMALL_WORDS,
    are_capitalised,
    is_capitalised,
    is_seedling_number,
)


class PlantReader:
    """Reads the name of one plant, part by part, in any order people write the parts in."""

    def __init__(self, at: Cursor) -> None:
        self._at = at
        self._genus = GenusReader(at)
        self._readers: list[Callable[[Name], Name | None]] = [
            self._species_with_sign,
            self._small_word,
            self._rank_below,
            self._seedling,
            self._quoted,
            self._after_cv,
            self._group_in_brackets,
            self._capitalised,
            self._species,
        ]

    def read(self) -> Name:
        """Read the name of one plant."""
        alone = self._seedling(Name())
        if alone:
            return alone
        name = self._genus.read()
        while not self._is_at_end_of_plant(name):
            longer = next((found for read in self._readers if (found := read(name))), None)
            if longer is None:
                raise BadInput(self._why_not(name), field="text")
            name = longer
        if name.is_seedling_of and not (name.species or name.epithets):
            raise BadInput("Behind 'ex' stands the plant the seed came from.", field="text")
        return name

    def _is_number_ahead(self) -> bool:
        words = self._at.word_ahead(0).casefold(), self._at.word_ahead(1).casefold()
        if words[0] in SEEDLING_WORDS:
            return True
        return is_seedling_number(words[words[0] in NUMBER_WORDS])

    def _is_at_end_of_plant(self, name: Name) -> bool:
        token = self._at.next
        if token is None or token.kind in {"close", "plus", "equals", "sex"}:
            return True
        if token.kind == "cross":
            return not (_is_bare(name) and self._species_sign_follows())
        if token.kind == "open":
            return not self._group_in_brackets_length()
        kind, _ = self._at.unnamed_ahead(0)
        return kind is not None

    # The parts behind the genus. Each reads its part, or returns None and leaves it.

    def _species_sign_follows(self) -> bool:
        """Whether the sign ahead is that of a named hybrid species, as in Mentha ×smithiana."""
        kind, _ = self._at.unnamed_ahead(1)
        return (
            kind is None
            and self._at.is_latin_epithet_ahead(1)
            and not self._at.is_latin_epithet_ahead(2)
        )

    def _species_with_sign(self, name: Name) -> Name | None:
        if not self._at.take("cross"):
            return None
        return replace(name, species=self._at.word(), is_nothospecies=True)

    def _small_word(self, name: Name) -> Name | None:
        word = self._at.word_ahead(0)
        if word == "ex" and not name.epithets:
            self._at.skip(1)
            return replace(name, is_seedling_of=True)
        if not _is_bare(name):
            return None
        if word in QUALIFIERS:
            return replace(name, qualifier=self._at.respelled(QUALIFIERS))
        if word in PLACEHOLDERS:
            return replace(name, placeholder=self._at.respelled(PLACEHOLDERS))
        return None

    def _rank_below(self, name: Name) -> Name | None:
        if self._at.word_ahead(0) not in RANKS or not name.species or name.epithets:
            return None
        rank = self._at.respelled(RANKS)
        if not self._at.is_latin_epithet_ahead(0):
            raise BadInput(f"Behind {rank} an epithet is missing.", field="text")
        return replace(name, below=(*name.below, (rank, self._at.word())))

    def _seedling(self, name: Name) -> Name | None:
        if not self._is_number_ahead():
            return None
        is_said = self._at.word_ahead(0).casefold() in SEEDLING_WORDS
        if is_said:
            self._at.skip(1)
        if self._at.word_ahead(0).casefold() in NUMBER_WORDS:
            self._at.skip(1)
        number = self._at.word_ahead(0)
        if not any(character.isdigit() for character in number):
            raise BadInput("Behind 'seedling' stands its number.", field="text")
        if not is_said:
            self._at.note(f"{number} was taken for a seedling's number.")
        return self._with(name, Epithet("seedling", self._at.word().removeprefix("#")))

    def _quoted(self, name: Name) -> Name | None:
        quoted = self._at.take("quoted")
        if quoted is None:
            return None
        if not quoted.text:
            raise BadInput("Between the quotation marks the name is missing.", field="text")
        *words, last = quoted.text.split()
        if last in GROUP_WORDS and are_capitalised(words):
            written = GROUP_WORDS[last]
            self._at.note(f"The name of a {written} stands without quotation marks.")
            return self._with(name, Epithet(KINDS_OF_GROUP[written], " ".join(words)))
        if is_seedling_number(quoted.text):
            self._at.note(
                f"'{quoted.text}' looks like a seedling's number, which stands without quotation"
                " marks."
            )
        return self._with(name, Epithet("cultivar", quoted.text))

    def _after_cv(self, name: Name) -> Name | None:
        if self._at.word_ahead(0) not in {"cv.", "cv"}:
            return None
        self._at.skip(1)
        self._at.note("'cv.' was left out: the quotation marks say it.")
        words = [] if self._at.next_is("quoted") else self._capitalised_words()
        if words:
            return self._with(name, Epithet("cultivar", " ".join(words)))
        if self._at.next_is("quoted"):
            return name
        raise BadInput("Behind 'cv.' the cultivar's name is missing.", field="text")

    def _group_in_brackets_length(self) -> int:
        """Return how many words stand in the brackets ahead if they name a Group, else 0."""
        words: list[str] = []
        while self._at.word_ahead(len(words) + 1):
            words.append(self._at.word_ahead(len(words) + 1))
        closing = self._at.ahead(len(words) + 1)
        is_closed = closing is not None and closing.kind == "close"
        is_named = words[-1:] and words[-1] in GROUP_WORDS and are_capitalised(words[:-1])
        return len(words) if is_closed and is_named else 0

    def _group_in_brackets(self, name: Name) -> Name | None:
        if not self._at.next_is("open"):
            return None
        length = self._group_in_brackets_length()
        *words, last = (self._at.word_ahead(step) for step in range(1, length + 1))
        self._at.skip(length + 2)
        return self._with(name, Epithet(KINDS_OF_GROUP[GROUP_WORDS[last]], " ".join(words)))

    def _capitalised(self, name: Name) -> Name | None:
        words = self._capitalised_words()
        if not words:
            return None
        text = " ".join(words)
        if self._at.word_ahead(0) in GROUP_WORDS:
            kind = KINDS_OF_GROUP[self._at.respelled(GROUP_WORDS)]
            return self._with(name, Epithet(kind, text))
        if not _is_bare(name):
            raise BadInput(
                f"Put {text} in single quotation marks if it is a cultivar; leave it out if it is"
                " the author of the name.",
                field="text",
            )
        self._at.note(
            f"{text} was taken for a grex or a selling name; a cultivar stands in single quotation"
            " marks."
        )
        return self._with(name, Epithet("unquoted", text))

    def _capitalised_words(self) -> list[str]:
        words: list[str] = []
        while is_capitalised(self._at.word_ahead(0)) or (
            words
            and self._at.word_ahead(0) in SMALL_WORDS
            and is_capitalised(self._at.word_ahead(1))
        ):
            words.append(self._at.word())
        return words

    def _species(self, name: Name) -> Name | None:
        if name.species or name.placeholder or name.epithets:
            return None
        if not self._at.is_latin_epithet_ahead(0):
            return None
        return replace(name, species=self._at.word())

    def _with(self, name: Name, epithet: Epithet) -> Name:
        kinds = {each.kind for each in name.epithets}
        # A grex or selling name in no quotes and with no word behind it would run into a Group.
        is_unclear = "unquoted" in kinds and epithet.kind in {"group", "grex"}
        if epithet.kind in kinds or is_unclear:
            raise BadInput(f"A plant has one {epithet.kind} name, not two.", field="text")
        epithets = (*name.epithets, epithet)
        in_order = tuple(sorted(epithets, key=lambda each: ORDER.index(each.kind)))
        if in_order != epithets:
            self._at.note(f"The {in_order[0].kind} was put before the {in_order[1].kind} name.")
        return replace(name, epithets=in_order)

    def _why_not(self, name: Name) -> str:
        word = self._at.word_ahead(0)
        if name.species and self._at.is_latin_epithet_ahead(0):
            return f"Before {word} its rank is missing: subsp., var. or f."
        if word.startswith("'"):
            return "A closing quotation mark is missing."
        if word.endswith("."):
            return f"{word} cannot be read; leave out the author of the name."
        what = self._at.next.text if self._at.next else ""
        return f"{what!r} cannot be read in the name of a plant."


def _is_bare(name: Name) -> bool:
    return not (name.species or name.placeholder or name.qualifier or name.epithets)
