"""How the society's words map on the codes of the Multi-crop Passport Descriptors, V2.1."""

from collections.abc import Iterator
from typing import Any

from django.db.models import Q

from crosses.base.countries import ALPHA_3
from crosses.calc.names import Name, read_or_plain
from crosses.models import Plant, Taxon
from crosses.queries.written import cross_formula
from seedbank.bank.models import Lot
from seedbank.formats.mcpd import PartialDate, Passport
from seedbank.members.models import Member

AS_SEED, IN_A_GARDEN = "10", "20"

_WORDS = {
    "": "",
    "100": "Wild",
    "400": "Breeding or research material",
    "500": "Advanced or improved cultivar",
    "999": "Other: of garden origin",
}
# Seed of a controlled cross segregates; open-pollinated garden seed is none of the coded kinds.
_LOT_STATUS = {"controlled": "415", "wild": "100", "garden": "999"}
_SOURCES = {"wild": "10", "garden": "23", "bought": "30"}


def sample_status(plant: Plant) -> tuple[str, str]:
    """Return the code of a plant's biological status and what it means, or twice nothing.

    A named cultivar is one however it was raised; what is not known is left open. The standard
    fixes the codes, this choice among them is ours.
    """
    code = {
        Plant.Origin.WILD.value: "100",
        Plant.Origin.CROSS.value: "400",
        Plant.Origin.GARDEN.value: "999",
    }.get(plant.origin, "")
    if code != "100" and is_cultivar(plant.name_text):
        code = "500"
    return code, _WORDS[code]


def is_cultivar(name_text: str) -> bool:
    """Tell whether a written name ends in a cultivar epithet: it names a cultivar, not its seed."""
    name = read_or_plain(name_text)
    return (
        isinstance(name, Name)
        and not name.is_seedling_of
        and any(epithet.kind == "cultivar" for epithet in name.epithets)
    )


def passports_of(member: Member) -> Iterator[Passport]:
    """Return the passports of a member's plants and lots, for a keeper of the bank's lots too."""
    plants = Plant.objects.filter(keeper=member, withdrawn_at=None).select_related("taxon")
    plants = plants.select_related("raised_from__seed_parent", "raised_from__pollen_parent")
    plants = plants.prefetch_related("raised_from__pollen_shares__plant").order_by("number")
    for plant in plants.iterator(chunk_size=500):
        yield _of_plant(plant)
    owned = Q(owner=member) | Q(owner=None) if member.is_keeper else Q(owner=member)
    lots = Lot.objects.filter(owned, withdrawn_at=None).select_related(
        "taxon", "raised_by", "harvest__cross__seed_parent", "harvest__cross__pollen_parent"
    )
    lots = lots.prefetch_related("harvest__cross__pollen_shares__plant").order_by("number")
    for lot in lots.iterator(chunk_size=500):
        yield _of_lot(lot, member)


def _of_plant(plant: Plant) -> Passport:
    code, words = sample_status(plant)
    return _known(
        {
            "ACCENUMB": plant.number,
            **_of_taxon(plant.taxon),
            "ACCENAME": (plant.name_text,),
            "ACQDATE": PartialDate.of(plant.acquired_on) if plant.acquired_on else None,
            "ORIGCTY": ALPHA_3.get(plant.wild_country),
            "COLLSITE": plant.wild_where,
            "COLLDATE": PartialDate.of(plant.wild_on) if plant.wild_on else None,
            "SAMPSTAT": code,
            "ANCEST": cross_formula(plant.raised_from) if plant.raised_from else "",
            "COLLSRC": _SOURCES.get(plant.origin),
            "OTHERNUMB": (f":{plant.own_label}",) if plant.own_label else (),
            "STORAGE": (IN_A_GARDEN,),
            "REMARKS": (f"SAMPSTAT:{words}",) if code == "999" else (),
        }
    )


def _of_lot(lot: Lot, member: Member) -> Passport:
    """Tell a lot; who gave it to the bank is told by the donor's code, as in the list."""
    collected = PartialDate.of(lot.collected_on) if lot.collected_on else PartialDate(lot.year)
    is_wild = lot.origin == Lot.Origin.WILD
    is_given = lot.raised_by_id != member.pk
    return _known(
        {
            "ACCENUMB": lot.number,
            **_of_taxon(lot.taxon),
            "ACCENAME": (lot.name_text,),
            "ACQDATE": collected,
            "ORIGCTY": ALPHA_3.get(lot.wild_country),
            "COLLSITE": lot.wild_where,
            "COLLDATE": collected if is_wild else None,
            "SAMPSTAT": _LOT_STATUS.get(lot.origin),
            "ANCEST": cross_formula(lot.harvest.cross) if lot.harvest else "",
            "COLLSRC": _SOURCES.get(lot.origin),
            "DONORNAME": lot.raised_by.donor_code if is_given else None,
            "STORAGE": (AS_SEED,),
            "REMARKS": ("SAMPSTAT:garden open-pollinated",) if lot.origin == "garden" else (),
        }
    )


def _of_taxon(taxon: Taxon | None) -> dict[str, Any]:
    if taxon is None:
        return {}
    is_lower = bool(taxon.infraspecific_epithet)
    return {
        "GENUS": taxon.genus,
        "SPECIES": f"{'×' if taxon.is_hybrid else ''}{taxon.species}" or "sp.",
        "SPAUTHOR": "" if is_lower else taxon.authorship,
        "SUBTAXA": f"{taxon.infraspecific_rank} {taxon.infraspecific_epithet}".strip(),
        "SUBTAUTHOR": taxon.authorship if is_lower else "",
        "CROPNAME": taxon.common_name,
    }


def _known(facts: dict[str, Any]) -> Passport:
    return {name: value for name, value in facts.items() if value not in (None, "", ())}
