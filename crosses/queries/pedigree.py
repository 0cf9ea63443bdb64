"""Parentage of the society's plants, loaded for the reckoning in crosses.calc.pedigree."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from fractions import Fraction
from typing import Any

from django.db.models import QuerySet

from crosses.calc.pedigree.graph import Parentage, Pedigree
from crosses.models import Cross, Plant, PollenShare, Taxon

_COLUMNS = (
    "number",
    "raised_from_id",
    "raised_from__seed_parent__number",
    "raised_from__pollen",
    "raised_from__pollen_parent__number",
    "propagated_from__number",
    "taxon_id",
    "stated_inbreeding",
    "ploidy",
)

Pollen = tuple[tuple[str, Fraction], ...]


def society_pedigree() -> Pedigree:
    """Return the pedigree of every plant of the society, in three queries."""
    return Pedigree.build(_rows(Plant.objects.all(), PollenShare.objects.all(), _taxa()))


def pedigree_above(numbers: Collection[str]) -> Pedigree:
    """Return the pedigree of some plants and all their ancestors, two queries a generation."""
    return Pedigree.build(rows_above(numbers))


def rows_above(numbers: Collection[str]) -> list[Parentage]:
    """Load plants and their ancestors; a loop, if an import made one, is walked round once."""
    found: dict[str, Parentage] = {}
    wanted, taxa = set(numbers), _taxa()
    while wanted:
        plants = Plant.objects.filter(number__in=wanted)
        shares = PollenShare.objects.filter(cross__seedlings__number__in=wanted).distinct()
        rows = _rows(plants, shares, taxa)
        found.update((str(row.plant), row) for row in rows)
        wanted = {parent for row in rows for parent in _parents(row)} - found.keys()
    return list(found.values())


def parents_above(numbers: Collection[str]) -> dict[Any, list[str]]:
    """Return the known parents, or the source, of some plants and of all their ancestors."""
    return {row.plant: list(_parents(row)) for row in rows_above(numbers)}


def _parents(row: Parentage) -> Iterable[str]:
    for parent in (row.seed_parent, row.clone_of, *(plant for plant, _share in row.pollen)):
        if parent is not None:
            yield str(parent)


def _taxa() -> dict[int, Taxon]:
    return {taxon.pk: taxon for taxon in Taxon.objects.all()}


def _rows(
    plants: QuerySet[Plant], shares: QuerySet[PollenShare], taxa: dict[int, Taxon]
) -> list[Parentage]:
    mixtures = _mixtures(shares)
    return [_row(values, mixtures, taxa) for values in plants.values_list(*_COLUMNS)]


def _row(values: tuple[Any, ...], mixtures: dict[int, Pollen], taxa: dict[int, Taxon]) -> Parentage:
    number, cross, seed_parent, pollen, pollen_parent, source, taxon_id, inbreeding, ploidy = values
    if source is not None:
        # What a clone is, its source says: two entries that differ must not stop every reckoning.
        return Parentage(number, clone_of=source)
    taxon = taxa.get(taxon_id)
    is_founder = seed_parent is None
    return Parentage(
        number,
        seed_parent=seed_parent,
        pollen=_pollen(cross, seed_parent, pollen, pollen_parent, mixtures),
        taxon=taxon.name if taxon else None,
        stated_inbreeding=inbreeding if is_founder else None,
        ploidy=ploidy or (taxon.ploidy if taxon else None),
    )


def _pollen(
    cross: int | None,
    seed_parent: str | None,
    pollen: str | None,
    pollen_parent: str | None,
    mixtures: dict[int, Pollen],
) -> Pollen:
    if pollen == Cross.Pollen.SELF and seed_parent is not None:
        return ((seed_parent, Fraction(1)),)
    if pollen_parent is not None:
        return ((pollen_parent, Fraction(1)),)
    return mixtures.get(cross or 0, ())


def _mixtures(shares: QuerySet[PollenShare]) -> dict[int, Pollen]:
    parts: dict[int, list[tuple[str, int]]] = defaultdict(list)
    for cross, number, part in shares.values_list("cross_id", "plant__number", "parts"):
        parts[cross].append((number, part))
    return {
        cross: tuple(
            (number, Fraction(part, sum(p for _n, p in plants))) for number, part in plants
        )
        for cross, plants in parts.items()
    }
