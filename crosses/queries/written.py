"""How a cross is written: seed parent first, always."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from crosses.calc.names import (
    AsTyped,
    Mixture,
    Node,
    Unnamed,
    formula,
    read_or_plain,
    write_name,
)
from crosses.models import Cross, Plant

_UNNAMED = {
    Cross.Pollen.SELF: Unnamed("self"),
    Cross.Pollen.OPEN: Unnamed("open"),
    Cross.Pollen.UNKNOWN: Unnamed("unknown"),
    Cross.Pollen.NONE: Unnamed("none"),
}


@dataclass(frozen=True)
class Parents:
    """The parents of a cross; several pollen parents with their part of the mixture."""

    seed_parent: Plant
    pollen: tuple[tuple[Plant, Fraction], ...]


# A list page writes the same few parents many times.
@lru_cache(maxsize=4096)
def _plant_node(name_text: str) -> Node:
    node = read_or_plain(name_text)
    # A plant that somebody called "open" or "A + B" is still one plant.
    return AsTyped(name_text) if isinstance(node, Unnamed | Mixture) else node


@lru_cache(maxsize=4096)
def _written(seed_text: str, pollen: str, pollen_texts: tuple[str, ...]) -> str:
    if pollen == Cross.Pollen.PLANT:
        pollen_node = _plant_node(pollen_texts[0])
    elif pollen == Cross.Pollen.MIXED:
        pollen_node = Mixture(tuple(_plant_node(text) for text in pollen_texts))
    else:
        pollen_node = _UNNAMED[Cross.Pollen(pollen)]
    return write_name(formula(_plant_node(seed_text), pollen_node))


def formula_of_names(seed_text: str, pollen: str, pollen_texts: Sequence[str]) -> str:
    """Write the formula of a cross from its parents' written names."""
    return _written(seed_text, pollen, tuple(pollen_texts))


def parents_of(cross: Cross) -> Parents:
    """Return a cross's parents; of a mixture every plant with its part."""
    if cross.pollen == Cross.Pollen.PLANT and cross.pollen_parent is not None:
        return Parents(cross.seed_parent, ((cross.pollen_parent, Fraction(1)),))
    if cross.pollen == Cross.Pollen.SELF:
        return Parents(cross.seed_parent, ((cross.seed_parent, Fraction(1)),))
    shares = sorted(cross.pollen_shares.all(), key=lambda share: share.pk)
    whole = sum(share.parts for share in shares)
    return Parents(
        cross.seed_parent, tuple((share.plant, Fraction(share.parts, whole)) for share in shares)
    )


def cross_formula(cross: Cross) -> str:
    """Write a cross as a formula; lists load its parents and pollen_shares__plant beforehand."""
    if cross.pollen == Cross.Pollen.PLANT and cross.pollen_parent is not None:
        pollen_texts = [cross.pollen_parent.name_text]
    elif cross.pollen == Cross.Pollen.MIXED:
        pollen_texts = [plant.name_text for plant, _part in parents_of(cross).pollen]
    else:
        pollen_texts = []
    return formula_of_names(cross.seed_parent.name_text, cross.pollen, pollen_texts)
