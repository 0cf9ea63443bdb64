"""Reading the genus, in one of the ways people write it or leave it out."""

from dataclasses import replace

from crosses.calc.errors import BadInput
from crosses.calc.names.cursor import Cursor
from crosses.calc.names.nodes import TIMES, Name
from crosses.calc.names.words import ABBREVIATION, GENUS, HYPHENATED_GENUS, RESERVED


class GenusReader:
    """Reads the beginning of a plant's name, remembering the genera met for those left out."""

    def __init__(self, at: Cursor) -> None:
        self._at = at
        self._met: list[tuple[str, str]] = []

    def read(self) -> Name:
        """Read signs and genus; of a plant whose genus is left out, nothing else."""
        sign = self._sign()
        is_seedling_of = not sign and self._at.word_ahead(0) == "ex"
        if is_seedling_of:
            self._at.skip(1)
            self._at.note("'ex' was put behind the genus.")
        word = self._at.word_ahead(0)
        quoted = self._at.next if self._at.next_is("quoted") else None
        if quoted and not sign:
            name = self._left_out(f"'{quoted.text}'")
        elif ABBREVIATION.fullmatch(word):
            name = self._abbreviated(word, sign)
        elif HYPHENATED_GENUS.fullmatch(word) and word[0].isupper():
            name = self._hyphenated(word, sign)
        elif GENUS.fullmatch(word) and word.casefold() not in RESERVED:
            name = self._genus(word, sign)
        else:
            name = self._lower_case(word, sign)
        return replace(name, is_seedling_of=is_seedling_of)

    def _sign(self) -> str:
        if self._at.take("cross"):
            return TIMES
        return "+" if self._at.take("plus") else ""

    def _genus(self, genus: str, sign: str) -> Name:
        self._at.skip(1)
        self._met.append((sign, genus))
        return Name(genus=genus, genus_sign=sign)

    def _hyphenated(self, word: str, sign: str) -> Name:
        joined = word.replace("-", "").capitalize()
        self._at.note(f"The name of a hybrid genus is one word with the sign: {TIMES}{joined}.")
        return self._genus(joined, sign or TIMES)

    def _abbreviated(self, word: str, sign: str) -> Name:
        matching = {
            genus
            for its_sign, genus in self._met
            if its_sign == sign and genus.startswith(word[:-1])
        }
        if not matching:
            raise BadInput(
                f"{word} is short for a genus that was not named before; write it out.",
                field="text",
            )
        if len(matching) > 1:
            raise BadInput(
                f"{word} may be short for {' or '.join(sorted(matching))}; write it out.",
                field="text",
            )
        return self._genus(matching.pop(), sign)

    def _left_out(self, before: str) -> Name:
        if not self._met:
            raise BadInput(f"Write the genus before {before}.", field="text")
        sign, genus = self._met[-1]
        self._at.note(f"The genus was written before {before}.")
        return Name(genus=genus, genus_sign=sign)

    def _lower_case(self, word: str, sign: str) -> Name:
        if not (word.isalpha() and word.islower()) or word in RESERVED:
            what = repr(self._at.next.text) if self._at.next else "The end of the name"
            raise BadInput(f"{what} stands where a genus should.", field="text")
        is_met_before = any(word == genus.casefold() for _, genus in self._met)
        if self._met and not is_met_before:
            if sign or self._at.is_latin_epithet_ahead(1):
                raise BadInput(
                    f"{word} may be a genus or a species here; begin a genus with a capital.",
                    field="text",
                )
            return self._left_out(word)
        self._at.note("A genus begins with a capital.")
        return self._genus(word.capitalize(), sign)
