"""What a written name is made of."""

from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

from crosses.calc.errors import BadInput
from crosses.calc.names.words import KindOfUnnamed

TIMES = "\N{MULTIPLICATION SIGN}"


@dataclass(frozen=True)
class Epithet:
    """A part of a name that is not in Latin.

    Attributes
    ----------
    kind : str
        group, grex, unquoted (capitalised but with neither quotes nor a word behind it: an orchid
        grex or a selling name), cultivar, or seedling (a number, not a name yet).
    text : str
        Without quotation marks and without the words Group, grex or seedling.

    """

    kind: Literal["group", "grex", "unquoted", "cultivar", "seedling"]
    text: str


@dataclass(frozen=True)
class Name:
    """The name of one plant.

    Attributes
    ----------
    genus : str
        Spelled out, or an unambiguous common name (Apple); empty only for a bare seedling number.
    genus_sign : str
        The multiplication sign of a nothogenus, the plus sign of a graft-chimaera, or empty.
    qualifier : str
        aff. or cf., standing before the species, or empty.
    species : str
        The species epithet, or empty.
    is_nothospecies : bool
        The species epithet bears the multiplication sign.
    placeholder : str
        sp. or hybrid, standing for a species epithet, or empty.
    below : tuple of (rank, epithet)
        Ranks below the species, such as ("subsp.", "macrocalyx").
    is_seedling_of : bool
        The plant was raised from seed of the one named (ex): it does not bear that name itself.
    epithets : tuple of Epithet
        In the order in which they are written.
    parentage : Formula or None
        The cross the name stands for, where it is written with it.
    is_parentage_equated : bool
        The cross was written after an equals sign and not in brackets.
    notes : tuple of str
        What was repaired in reading.

    """

    genus: str = ""
    genus_sign: str = ""
    qualifier: str = ""
    species: str = ""
    is_nothospecies: bool = False
    placeholder: str = ""
    below: tuple[tuple[str, str], ...] = ()
    is_seedling_of: bool = False
    epithets: tuple[Epithet, ...] = ()
    parentage: "Formula | None" = None
    is_parentage_equated: bool = False
    notes: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True)
class Formula:
    """A cross, seed parent first."""

    parents: "tuple[Node, ...]"
    notes: tuple[str, ...] = field(default=(), compare=False)

    @property
    def seed(self) -> "Node":
        """The seed parent."""
        return self.parents[0]

    @property
    def pollen(self) -> "Node":
        """The pollen parent; in a formula of three or more the last of them."""
        return self.parents[-1]


@dataclass(frozen=True)
class Mixture:
    """Mixed pollen: one of these plants is the father, nobody knows which."""

    plants: "tuple[Node, ...]"
    notes: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True)
class Unnamed:
    """A parent without a name.

    Attributes
    ----------
    kind : str
        self (its own pollen), open (whatever bee), unknown, or none (no pollen, a control).

    """

    kind: KindOfUnnamed
    notes: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True)
class AsTyped:
    """A name that could not be read, kept to the letter."""

    text: str
    notes: tuple[str, ...] = field(default=(), compare=False)


Node: TypeAlias = Name | Formula | Mixture | Unnamed | AsTyped


def formula(seed: Node, pollen: Node) -> Formula:
    """Combine two parents into a cross.

    Brackets and the shortening of a genus written twice are left to the writing.

    Raises
    ------
    BadInput
        If the seed parent is something that can only give pollen.

    Examples
    --------
    >>> from crosses.calc.names import read_name, write_name
    >>> seed = read_name("Primula 'Quillfeather Smoke' x P. veris")
    >>> write_name(formula(seed, read_name("Primula elatior")))
    "(Primula 'Quillfeather Smoke' × P. veris) × P. elatior"

    """
    if isinstance(seed, Mixture) or (isinstance(seed, Unnamed) and seed.kind != "unknown"):
        raise BadInput("The seed parent is one plant, named or unknown.", field="seed")
    return Formula((replace(seed, notes=()), replace(pollen, notes=())))
