"""Going through the tokens of a typed name from left to right."""

from crosses.calc.names.nodes import Unnamed
from crosses.calc.names.tokens import Kind, Token
from crosses.calc.names.words import LATIN_EPITHET, RESERVED, UNNAMED, KindOfUnnamed


class Cursor:
    """The place reached in a typed name, and the notes on what was repaired up to it."""

    def __init__(self, tokens: list[Token], notes: list[str]) -> None:
        self.notes = notes
        self._tokens = tokens
        self._place = 0

    @property
    def next(self) -> Token | None:
        """The token not yet read, or None at the end."""
        return self.ahead(0)

    def next_is(self, kind: Kind) -> bool:
        """Return whether the next token is of a kind."""
        return self.next is not None and self.next.kind == kind

    def take(self, kind: Kind) -> Token | None:
        """Read the next token if it is of a kind."""
        token = self.next
        if token is None or token.kind != kind:
            return None
        self._place += 1
        return token

    def note(self, sentence: str) -> None:
        """Remember something that was repaired."""
        self.notes.append(sentence)

    def unnamed(self) -> Unnamed | None:
        """Read a parent without a name, if one comes next."""
        kind, length = self.unnamed_ahead(0)
        if kind is None:
            return None
        self._place += length
        return Unnamed(kind)

    def unnamed_in_brackets_follows(self) -> bool:
        """Return whether '(open pollinated)' or the like comes next."""
        if not self.next_is("open"):
            return False
        kind, length = self.unnamed_ahead(1)
        closing = self.ahead(1 + length)
        return kind is not None and closing is not None and closing.kind == "close"

    def unnamed_in_brackets(self) -> Unnamed | None:
        """Read '(open pollinated)' or the like, if it comes next."""
        if not self.unnamed_in_brackets_follows():
            return None
        self.take("open")
        unnamed = self.unnamed()
        self.take("close")
        return unnamed

    def ahead(self, steps: int) -> Token | None:
        """Return the token so many steps ahead, or None behind the end."""
        place = self._place + steps
        return self._tokens[place] if place < len(self._tokens) else None

    def word_ahead(self, steps: int) -> str:
        """Return the word so many steps ahead, or nothing if no word stands there."""
        token = self.ahead(steps)
        return token.text if token is not None and token.kind == "word" else ""

    def unnamed_ahead(self, steps: int) -> tuple[KindOfUnnamed | None, int]:
        """Return which parent without a name stands ahead, if any, and its number of words."""
        for words, kind in UNNAMED.items():
            ahead = tuple(
                self.word_ahead(steps + number).casefold() for number in range(len(words))
            )
            if ahead == words and not self.word_ahead(steps + len(words)):
                return kind, len(words)
        return None, 0

    def is_latin_epithet_ahead(self, steps: int) -> bool:
        """Return whether the word ahead may be a Latin epithet."""
        word = self.word_ahead(steps)
        return bool(LATIN_EPITHET.fullmatch(word)) and word not in RESERVED

    def word(self) -> str:
        """Read the next word."""
        word = self.word_ahead(0)
        self._place += 1
        return word

    def respelled(self, spellings: dict[str, str]) -> str:
        """Read the next word and return how it is written."""
        typed = self.word()
        if typed != spellings[typed]:
            self.note(f"{typed.rstrip('.')} is written {spellings[typed].rstrip('.')}.")
        return spellings[typed]

    def skip(self, tokens: int) -> None:
        """Pass over tokens already looked at."""
        self._place += tokens
