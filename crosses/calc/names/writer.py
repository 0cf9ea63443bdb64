"""Writing names: in plain text, and in runs of italic and roman."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TypeAlias

from crosses.calc.names.nodes import (
    TIMES,
    AsTyped,
    Epithet,
    Formula,
    Mixture,
    Name,
    Node,
    Unnamed,
)

# A cultivar may follow an unambiguous common name (Apple 'Jonathan'), which is set in roman and
# never shortened. These are no Latin names of genera, so they cannot be meant as such.
COMMON_NAMES = frozenset(
    """
    Apple Apricot Bean Blackberry Blackcurrant Cabbage Cherry Fig Gooseberry Grape Hop Lettuce
    Mulberry Onion Pea Peach Pear Plum Potato Quince Raspberry Redcurrant Strawberry Tomato
    Walnut
    """.split()  # noqa: SIM905 (a list of words reads as words)
)

_WORDS = {"self": "self", "open": "open pollinated", "unknown": "unknown", "none": "no pollen"}


# The stretches of one word, each with whether it is italic.
_Word: TypeAlias = list[tuple[str, bool]]


@dataclass(frozen=True)
class Run:
    """A stretch of a written name in one style."""

    text: str
    italic: bool


@dataclass
class _Page:
    """What has been written so far, and which genera may be shortened."""

    initials: Counter[str]
    runs: list[Run] = field(default_factory=list)
    genera_written: set[str] = field(default_factory=set)

    def put(self, text: str, *, italic: bool = False) -> None:
        """Write text after what is there, joining stretches of one style."""
        if not text:
            return
        if self.runs and self.runs[-1].italic == italic:
            text = self.runs.pop().text + text
        self.runs.append(Run(text, italic))


def write_runs(node: Node) -> tuple[Run, ...]:
    """Return a name as runs: genus and Latin epithets italic; signs, cultivars and brackets roman.

    Examples
    --------
    >>> from crosses.calc.names import read_name
    >>> [run.text for run in write_runs(read_name("Mentha ×smithiana 'Ruby'")) if run.italic]
    ['Mentha', 'smithiana']

    """
    page = _Page(Counter(genus[0] for genus in set(_genera(node))))
    _put(page, node, is_inside=False)
    return tuple(page.runs)


def write_name(node: Node) -> str:
    """Return a name in plain text.

    A cross inside a cross stands in brackets. A genus written before is shortened to its initial
    where no other genus of the whole begins with the same letter, as the Codes do; the genus
    stands before every species epithet (Shenzhen Code, Art. H.2).

    Examples
    --------
    >>> from crosses.calc.names import read_name
    >>> write_name(read_name("Kunzea linearis x Kunzea robusta"))
    'Kunzea linearis × K. robusta'

    """
    return "".join(run.text for run in write_runs(node))


def _genera(node: Node) -> Iterator[str]:
    if isinstance(node, Name):
        if node.genus:
            yield node.genus
        if node.parentage:
            yield from _genera(node.parentage)
    elif isinstance(node, Formula):
        for parent in node.parents:
            yield from _genera(parent)
    elif isinstance(node, Mixture):
        for plant in node.plants:
            yield from _genera(plant)


def _put(page: _Page, node: Node, *, is_inside: bool) -> None:
    if isinstance(node, Name):
        _put_name(page, node, is_inside=is_inside)
    elif isinstance(node, Formula):
        _put_formula(page, node)
    elif isinstance(node, Mixture):
        for number, plant in enumerate(node.plants):
            page.put(" + " if number else "(")
            _put_parent(page, plant)
        page.put(")")
    elif isinstance(node, Unnamed):
        page.put(_WORDS[node.kind])
    else:
        page.put(node.text)


def _put_formula(page: _Page, node: Formula) -> None:
    *mothers, pollen = node.parents
    for number, parent in enumerate(mothers):
        if number:
            page.put(f" {TIMES} ")
        _put_parent(page, parent)
    if isinstance(pollen, Unnamed) and pollen.kind in {"open", "none"}:
        page.put(f" ({_WORDS[pollen.kind]})")
        return
    page.put(f" {TIMES} ")
    _put_parent(page, pollen)


def _put_parent(page: _Page, node: Node) -> None:
    # A name kept as typed may hold a cross of its own; its brackets keep it from running on.
    needs_brackets = isinstance(node, Formula | AsTyped)
    if needs_brackets:
        page.put("(")
    _put(page, node, is_inside=True)
    if needs_brackets:
        page.put(")")


def _put_name(page: _Page, node: Name, *, is_inside: bool) -> None:
    for number, word in enumerate([*_genus(page, node), *_words(node)]):
        page.put(" " * bool(number))
        for text, italic in word:
            page.put(text, italic=italic)
    if node.parentage is None:
        return
    if node.is_parentage_equated and not is_inside:
        page.put(" = ")
        page.genera_written.clear()
        _put_formula(page, node.parentage)
        return
    page.put(" ")
    _put_parent(page, node.parentage)


def _genus(page: _Page, node: Name) -> list[_Word]:
    if not node.genus:
        return []
    is_common = node.genus in COMMON_NAMES
    is_shortened = (
        bool(node.species or node.placeholder or node.epithets)
        and node.genus in page.genera_written
        and page.initials[node.genus[0]] == 1
        and not is_common
    )
    # A nothogenus is written out each time: a sign before an initial reads as a cross.
    if not node.genus_sign:
        page.genera_written.add(node.genus)
    text = f"{node.genus[0]}." if is_shortened and not node.genus_sign else node.genus
    return [[(node.genus_sign, False), (text, not is_common)]]


def _words(node: Name) -> Iterator[_Word]:
    """Yield what follows the genus, word by word."""
    if node.is_seedling_of and not node.epithets:
        yield [("ex", False)]
    if node.qualifier:
        yield [(node.qualifier, False)]
    if node.species:
        yield [(TIMES if node.is_nothospecies else "", False), (node.species, True)]
    if node.placeholder:
        yield [(node.placeholder, False)]
    for rank, below in node.below:
        yield [(f"{rank} ", False), (below, True)]
    if node.is_seedling_of and node.epithets:
        yield [("ex", False)]
    has_cultivar = any(epithet.kind == "cultivar" for epithet in node.epithets)
    for epithet in node.epithets:
        yield [(_written(epithet, is_before_cultivar=has_cultivar), False)]


def _written(epithet: Epithet, *, is_before_cultivar: bool) -> str:
    if epithet.kind == "cultivar":
        return f"'{epithet.text}'"
    if epithet.kind == "group":
        return f"({epithet.text} Group)" if is_before_cultivar else f"{epithet.text} Group"
    if epithet.kind == "grex":
        return f"{epithet.text} grex"
    if epithet.kind == "seedling":
        return f"seedling {epithet.text}"
    return epithet.text
