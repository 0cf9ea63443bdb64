"""Plants as germplasm."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.conf import settings
from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.base.countries import ALPHA_3
from crosses.models import Plant
from crosses.queries.written import cross_formula
from seedbank.api.brapi.envelope import (
    NOT_KEPT,
    PAGING,
    BrapiView,
    Narrow,
    single,
    without_unknown,
)
from seedbank.members.models import Member
from seedbank.transfer.passport import sample_status

NO_GENUS = "unidentified"


def address_of(plant_number: str) -> str:
    return f"{settings.SITE_ADDRESS}/plants/{plant_number}/"


def plants_for(reader: Member) -> QuerySet[Plant]:
    plants = plants_visible_to(reader).filter(withdrawn_at=None)
    return plants.select_related("taxon").order_by("number")


def _of_crop(plants: QuerySet[Plant], crop: str) -> QuerySet[Plant]:
    return plants.filter(taxon=None) if crop == NO_GENUS else plants.filter(taxon__genus=crop)


def _of_binomial(plants: QuerySet[Plant], name: str) -> QuerySet[Plant]:
    genus, _, species = name.partition(" ")
    return plants.filter(taxon__genus__iexact=genus, taxon__species__iexact=species.strip())


def _at_address(plants: QuerySet[Plant], address: str) -> QuerySet[Plant]:
    return plants.filter(number=address.removeprefix(address_of("").rstrip("/")).strip("/"))


# The filters that /germplasm and /pedigree share.
PLANT_FILTERS: Mapping[str, Narrow] = {
    "accessionNumber": lambda plants, value: plants.filter(number=value),
    "binomialName": _of_binomial,
    "commonCropName": _of_crop,
    "genus": lambda plants, value: plants.filter(taxon__genus__iexact=value),
    "germplasmDbId": lambda plants, value: plants.filter(number=value),
    "germplasmName": lambda plants, value: plants.filter(name_text__iexact=value),
    "germplasmPUI": _at_address,
    "species": lambda plants, value: plants.filter(taxon__species__iexact=value),
}


class GermplasmList(BrapiView):
    parameters = NOT_KEPT | PAGING | PLANT_FILTERS.keys() | {"parentDbId", "progenyDbId"}

    def get(self, request: Request) -> Response:
        reader = self.reader
        filters = {
            **PLANT_FILTERS,
            "parentDbId": lambda plants, value: _children(plants, reader, value),
            "progenyDbId": lambda plants, value: _parents(plants, reader, value),
        }
        plants = self.narrowed(plants_for(reader), filters)
        return self.listed(plants, lambda page: germplasm_told(reader, page))


class GermplasmDetail(BrapiView):
    def get(self, request: Request, germplasmDbId: str) -> Response:  # noqa: N803  the standard's
        plant = get_object_or_404(plants_for(self.reader), number=germplasmDbId)
        return single(germplasm_told(self.reader, [plant])[0])


def _children(plants: QuerySet[Plant], reader: Member, number: str) -> QuerySet[Plant]:
    """Return plants raised from a plant, or divided from it, as far as the reader may know."""
    parent = plants_visible_to(reader).filter(number=number)
    crosses = crosses_visible_to(reader).filter(
        Q(seed_parent__in=parent) | Q(pollen_parent__in=parent) | Q(pollen_shares__plant__in=parent)
    )
    return plants.filter(Q(raised_from__in=crosses) | Q(propagated_from__in=parent))


def _parents(plants: QuerySet[Plant], reader: Member, number: str) -> QuerySet[Plant]:
    child = plants_visible_to(reader).filter(number=number)
    crosses = crosses_visible_to(reader).filter(seedlings__in=child)
    return plants.filter(
        Q(crosses_as_seed_parent__in=crosses)
        | Q(crosses_as_pollen_parent__in=crosses)
        | Q(pollen_shares__cross__in=crosses)
        | Q(divisions__in=child)
    ).distinct()


def germplasm_told(reader: Member, plants: Sequence[Plant]) -> list[dict[str, Any]]:
    """Tell plants; whose they are is not told, and where a wild one grew by country only."""
    crosses = crosses_visible_to(reader).filter(seedlings__in=plants)
    crosses = crosses.select_related("seed_parent", "pollen_parent")
    crosses = crosses.prefetch_related("pollen_shares__plant")
    formulas = {cross.pk: cross_formula(cross) for cross in crosses}
    return [_told(plant, formulas.get(plant.raised_from_id or 0, "")) for plant in plants]


def _told(plant: Plant, pedigree: str) -> dict[str, Any]:
    taxon = plant.taxon
    code, words = sample_status(plant)
    facts: dict[str, Any] = {
        "accessionNumber": plant.number,
        "acquisitionDate": plant.acquired_on.isoformat() if plant.acquired_on else None,
        "biologicalStatusOfAccessionCode": code,
        "biologicalStatusOfAccessionDescription": words,
        "commonCropName": taxon.genus if taxon else NO_GENUS,
        "countryOfOriginCode": ALPHA_3.get(plant.wild_country),
        "defaultDisplayName": plant.name_text,
        "documentationURL": address_of(plant.number),
        "germplasmDbId": plant.number,
        "germplasmName": plant.name_text,
        "germplasmPUI": address_of(plant.number),
        "pedigree": pedigree,
        "storageTypes": [{"code": "20", "description": "Field collection"}],
    }
    if taxon:
        is_lower = bool(taxon.infraspecific_epithet)
        facts |= {
            "genus": taxon.genus,
            "species": f"{'×' if taxon.is_hybrid else ''}{taxon.species}",
            "speciesAuthority": "" if is_lower else taxon.authorship,
            "subtaxa": f"{taxon.infraspecific_rank} {taxon.infraspecific_epithet}".strip(),
            "subtaxaAuthority": taxon.authorship if is_lower else "",
        }
    return without_unknown(facts)
