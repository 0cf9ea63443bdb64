"""Which kinds are in a plant: its own, and those of all its ancestors."""

from collections import deque
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from crosses.models import Plant, Taxon
from crosses.queries.pedigree import parents_above


@dataclass(frozen=True, slots=True)
class Kind:
    """A genus, in small letters, and the taxon where one is recorded."""

    genus: str
    taxon: Taxon | None

    @property
    def name(self) -> str:
        return self.taxon.name if self.taxon else self.genus.capitalize()


Kinds = tuple[Kind, ...]


def genus_written(name_text: str) -> str:
    """Return the genus a written name begins with, its multiplication sign left off.

    >>> genus_written("×Agropogon littoralis"), genus_written("Primula 'Oddwater Lemon' × P. veris")
    ('Agropogon', 'Primula')
    """
    words = name_text.replace("×", " ").split()
    return words[0].strip("'\"(),") if words else ""


def kinds_named(name_text: str, taxon: Taxon | None) -> Kinds:
    """Return the kinds that a record names: its taxon, and the genus of its name if it is another."""
    genus = genus_written(name_text).lower()
    recorded = (Kind(taxon.genus.lower(), taxon),) if taxon else ()
    if not genus or any(kind.genus == genus for kind in recorded):
        return recorded
    return (*recorded, Kind(genus, None))


def kinds_above(numbers: Collection[str]) -> dict[str, Kinds]:
    """Return the kinds of each plant and of all its ancestors, the nearest first.

    A few queries a generation, however many plants.
    """
    if not numbers:
        return {}
    parents = parents_above(numbers)
    taxa = Taxon.objects.in_bulk()
    named = {
        number: kinds_named(name_text, taxa.get(taxon or 0))
        for number, name_text, taxon in Plant.objects.filter(number__in=parents).values_list(
            "number", "name_text", "taxon_id"
        )
    }
    return {number: _collected(number, parents, named) for number in numbers}


def distinct(kinds: Iterable[Kind]) -> Kinds:
    return tuple(dict.fromkeys(kinds))


def _collected(
    number: str, parents: Mapping[str, Iterable[str]], named: Mapping[str, Kinds]
) -> Kinds:
    """Walk upwards, generation after generation; a plant met twice is walked once."""
    found: list[Kind] = []
    waiting, met = deque([number]), {number}
    while waiting:
        plant = waiting.popleft()
        found.extend(named.get(plant, ()))
        for parent in parents.get(plant, ()):
            if parent not in met:
                met.add(parent)
                waiting.append(parent)
    return distinct(found)


def hazards_of(kinds: Iterable[Kind], of_genus: Mapping[str, str]) -> dict[str, str]:
    """Return what is told of these kinds, each note once, with the name of the first that bears it.

    `of_genus` is what is told of whole genera (`hazards_of_genera`); a taxon's own note goes before.
    """
    notes: dict[str, str] = {}
    for kind in kinds:
        own = kind.taxon.hazard_note if kind.taxon else ""
        note = own or of_genus.get(kind.genus, "")
        if note:
            notes.setdefault(note, kind.name)
    return notes


def hazards_of_genera() -> dict[str, str]:
    """Return the hazard notes of whole genera, by genus in small letters."""
    noted = Taxon.objects.filter(species="").exclude(hazard_note="")
    return {genus.lower(): note for genus, note in noted.values_list("genus", "hazard_note")}
