"""Reading names as people type them."""

from dataclasses import replace

from crosses.calc.errors import BadInput
from crosses.calc.names.cursor import Cursor
from crosses.calc.names.nodes import (
    AsTyped,
    Formula,
    Mixture,
    Name,
    Node,
    Unnamed,
)
from crosses.calc.names.plant import PlantReader
from crosses.calc.names.tokens import split

# Brackets within brackets; a pedigree written out is never near it.
DEEPEST = 12
LONGEST = 2000

_NOTE_OF_BRACKETS = "Brackets were put round the cross that comes first."


def read_name(text: str) -> Node:
    """Read the written name of a plant or a cross.

    A cross is read seed parent first, unless the signs for female and male say otherwise. What was
    typed otherwise than it is written is repaired where only one thing can be meant, and said in
    the notes of the result: x for the sign, a genus left out, double quotes, cv., and so on.

    Parameters
    ----------
    text : str
        One name or formula.

    Returns
    -------
    Node
        A `Name` or a `Formula`; for pollen alone also a `Mixture` or an `Unnamed` parent.

    Raises
    ------
    BadInput
        If the text cannot be read, or could be read in two ways.

    Examples
    --------
    >>> read = read_name("kunzea linearis x robusta")
    >>> read.pollen.genus, read.pollen.species
    ('Kunzea', 'robusta')
    >>> read.notes[-1]
    'The genus was written before robusta.'

    """
    if not text.strip():
        raise BadInput("Write the name of the plant.", field="text")
    if len(text) > LONGEST:
        raise BadInput(f"A name has at most {LONGEST} characters.", field="text")
    at = Cursor(*split(text))
    node = _CrossReader(at).whole()
    return replace(node, notes=tuple(dict.fromkeys(at.notes)))


def read_or_plain(text: str) -> Node:
    """Read a name, or keep it as it was typed with a note why: a name never stops the logging.

    Raises
    ------
    BadInput
        Only if nothing was typed.

    Examples
    --------
    >>> read_or_plain("the red one by the gate")
    AsTyped(text='the red one by the gate', notes=(...))

    """
    try:
        return read_name(text)
    except BadInput as refusal:
        typed = " ".join(text.split())
        if not typed:
            raise
        return AsTyped(typed, notes=(f"Kept as typed. {refusal.message}",))


class _CrossReader:
    """Reads crosses, mixtures and brackets; what one plant is called is read by `PlantReader`."""

    def __init__(self, at: Cursor) -> None:
        self._at = at
        self._plant = PlantReader(at)

    def whole(self) -> Node:
        """Read to the end of the text."""
        node = self._cross(depth=0)
        if self._at.take("equals"):
            parentage = self._cross(depth=0)
            if not (isinstance(node, Name) and isinstance(parentage, Formula)):
                raise BadInput(
                    "An equals sign stands between a name and the cross it is a name for.",
                    field="text",
                )
            node = replace(node, parentage=parentage, is_parentage_equated=True)
        if self._at.next is not None:
            raise BadInput(f"{self._at.next.text!r} cannot be read at this place.", field="text")
        return node

    def _cross(self, *, depth: int) -> Node:
        parents: list[Node] = []
        sexes: list[str] = []
        while True:
            before = self._at.take("sex")
            parents.append(self._parent(depth=depth, is_pollen=bool(parents)))
            sex = before or self._at.take("sex")
            sexes.append(sex.text if sex else "")
            pollen = self._pollen_behind()
            if pollen:
                parents = [self._joined([*parents, pollen])]
            if not self._at.take("cross"):
                return self._joined(self._seed_first(parents, sexes))
            if _is_own_or_any_pollen(parents[-1]):
                self._at.note(_NOTE_OF_BRACKETS)
                parents = [self._joined(parents)]

    def _parent(self, *, depth: int, is_pollen: bool) -> Node:
        unnamed = self._at.unnamed()
        if unnamed:
            return unnamed
        node = self._bracket(depth=depth) if self._at.take("open") else self._plant.read()
        if isinstance(node, Name):
            node = self._with_parentage(node, depth=depth)
        if is_pollen and self._at.next_is("plus"):
            self._at.note("Brackets were put round the mixed pollen.")
            node = self._mixture(node, depth=depth)
        return node

    def _bracket(self, *, depth: int) -> Node:
        """Read what stands in brackets, the opening one already read."""
        if depth >= DEEPEST:
            raise BadInput(f"More than {DEEPEST} brackets stand in one another.", field="text")
        node = self._cross(depth=depth + 1)
        if self._at.next_is("plus"):
            node = self._mixture(node, depth=depth + 1)
        if not self._at.take("close"):
            raise BadInput("A closing bracket is missing.", field="text")
        return node

    def _mixture(self, first: Node, *, depth: int) -> Mixture:
        plants = [first]
        while self._at.take("plus"):
            plants.append(self._parent(depth=depth, is_pollen=False))
        return Mixture(tuple(plants))

    def _with_parentage(self, node: Name, *, depth: int) -> Name:
        """Read the cross that a named hybrid came from, in brackets behind its name."""
        if not self._at.next_is("open") or self._at.unnamed_in_brackets_follows():
            return node
        self._at.take("open")
        parentage = self._bracket(depth=depth)
        if not isinstance(parentage, Formula):
            raise BadInput(
                "In brackets behind a name stands the cross it came from, or its Group.",
                field="text",
            )
        return replace(node, parentage=parentage)

    def _pollen_behind(self) -> Unnamed | None:
        """Read '(open pollinated)', or 'selfed' without a sign, behind a plant or a cross."""
        pollen = self._at.unnamed_in_brackets() or self._at.unnamed()
        if pollen and pollen.kind == "unknown":
            raise BadInput(
                "Before an unknown pollen parent the sign of a cross is missing.", field="text"
            )
        return pollen

    def _joined(self, parents: list[Node]) -> Node:
        """Join parents to a cross; its own or any pollen is put on all that stands before."""
        if len(parents) == 1:
            return parents[0]
        *seed, pollen = parents
        if _gives_pollen_only(parents[0]):
            raise BadInput(
                "The seed parent stands first, and is one plant, named or unknown.", field="text"
            )
        if _is_own_or_any_pollen(pollen) and len(seed) > 1:
            self._at.note(_NOTE_OF_BRACKETS)
            seed = [Formula(tuple(seed))]
        return Formula((*seed, pollen))

    def _seed_first(self, parents: list[Node], sexes: list[str]) -> list[Node]:
        if not any(sexes):
            return parents
        if (
            len(parents) != 2
            or len(sexes) != 2
            or sexes in (["female", "female"], ["male", "male"])
        ):
            raise BadInput(
                "The signs for female and male stand once each, in a cross of two.", field="text"
            )
        if "male" in sexes[:1] or "female" in sexes[1:]:
            self._at.note("The seed parent was put first, as the signs for female and male say.")
            return parents[::-1]
        self._at.note("The signs for female and male were left out: the seed parent stands first.")
        return parents


def _is_own_or_any_pollen(node: Node) -> bool:
    return isinstance(node, Unnamed) and node.kind != "unknown"


def _gives_pollen_only(node: Node) -> bool:
    return isinstance(node, Mixture) or _is_own_or_any_pollen(node)
