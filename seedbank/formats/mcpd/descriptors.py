"""Every descriptor of the standard in its order, and its published code lists."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

SAMPLE_STATUS: Mapping[str, str] = {
    "100": "Wild",
    "110": "Natural",
    "120": "Semi-natural/wild",
    "130": "Semi-natural/sown",
    "200": "Weedy",
    "300": "Traditional cultivar/landrace",
    "400": "Breeding/research material",
    "410": "Breeder's line",
    "411": "Synthetic population",
    "412": "Hybrid",
    "413": "Founder stock/base population",
    "414": "Inbred line (parent of hybrid cultivar)",
    "415": "Segregating population",
    "416": "Clonal selection",
    "420": "Genetic stock",
    "421": "Mutant",
    "422": "Cytogenetic stocks",
    "423": "Other genetic stocks",
    "500": "Advanced or improved cultivar",
    "600": "GMO",
    "999": "Other",
}
COLLECTING_SOURCE: Mapping[str, str] = {
    "10": "Wild habitat",
    "11": "Forest or woodland",
    "12": "Shrubland",
    "13": "Grassland",
    "14": "Desert or tundra",
    "15": "Aquatic habitat",
    "20": "Farm or cultivated habitat",
    "21": "Field",
    "22": "Orchard",
    "23": "Backyard, kitchen or home garden",
    "24": "Fallow land",
    "25": "Pasture",
    "26": "Farm store",
    "27": "Threshing floor",
    "28": "Park",
    "30": "Market or shop",
    "40": "Institute, experimental station, research organization, genebank",
    "50": "Seed company",
    "60": "Weedy, disturbed or ruderal habitat",
    "61": "Roadside",
    "62": "Field margin",
    "99": "Other",
}
STORAGE: Mapping[str, str] = {
    "10": "Seed collection",
    "11": "Short term",
    "12": "Medium term",
    "13": "Long term",
    "20": "Field collection",
    "30": "In vitro collection",
    "40": "Cryo-preserved collection",
    "50": "DNA collection",
    "99": "Other",
}
MLS_STATUS: Mapping[str, str] = {
    "0": "No (not included)",
    "1": "Yes (included)",
    "99": "Other",
}


class Shape(StrEnum):
    """What a field holds; the others of a field's rules stand in `Descriptor`."""

    TEXT = "text"
    GENUS = "genus"
    SPECIES = "species"
    DATE = "date"
    CODE = "code"
    COUNTRY = "country"
    LATITUDE = "latitude"
    LONGITUDE = "longitude"
    DEGREES_NORTH = "degrees, minutes, seconds and N or S"
    DEGREES_EAST = "degrees, minutes, seconds and E or W"
    METRES = "metres"


@dataclass(frozen=True, slots=True)
class Descriptor:
    """A field: its number in the standard, what it holds, and whether it may hold several."""

    number: str
    name: str
    meaning: str
    shape: Shape = Shape.TEXT
    is_several: bool = False
    codes: Mapping[str, str] | None = None


def _code(number: str, name: str, meaning: str, codes: Mapping[str, str]) -> Descriptor:
    return Descriptor(number, name, meaning, Shape.CODE, codes=codes)


DESCRIPTORS: tuple[Descriptor, ...] = (
    Descriptor("0", "PUID", "persistent unique identifier"),
    Descriptor("1", "INSTCODE", "institute code (FAO WIEWS)"),
    Descriptor("2", "ACCENUMB", "accession number"),
    Descriptor("3", "COLLNUMB", "collecting number"),
    Descriptor("4", "COLLCODE", "collecting institute code", is_several=True),
    Descriptor("4.1", "COLLNAME", "collecting institute name", is_several=True),
    Descriptor("4.1.1", "COLLINSTADDRESS", "collecting institute address", is_several=True),
    Descriptor("4.2", "COLLMISSID", "collecting mission identifier"),
    Descriptor("5", "GENUS", "genus, initial in upper case", Shape.GENUS),
    Descriptor("6", "SPECIES", "specific epithet in lower case, or sp.", Shape.SPECIES),
    Descriptor("7", "SPAUTHOR", "authority of the species name"),
    Descriptor("8", "SUBTAXA", "subtaxon with its rank"),
    Descriptor("9", "SUBTAUTHOR", "authority of the subtaxon"),
    Descriptor("10", "CROPNAME", "common crop name"),
    Descriptor("11", "ACCENAME", "accession name", is_several=True),
    Descriptor("12", "ACQDATE", "date of acquisition", Shape.DATE),
    Descriptor("13", "ORIGCTY", "country of origin (ISO 3166-1, three letters)", Shape.COUNTRY),
    Descriptor("14", "COLLSITE", "location of the collecting site"),
    Descriptor("15.1", "DECLATITUDE", "latitude, decimal degrees", Shape.LATITUDE),
    Descriptor("15.2", "LATITUDE", "latitude as DDMMSSH", Shape.DEGREES_NORTH),
    Descriptor("15.3", "DECLONGITUDE", "longitude, decimal degrees", Shape.LONGITUDE),
    Descriptor("15.4", "LONGITUDE", "longitude as DDDMMSSH", Shape.DEGREES_EAST),
    Descriptor("15.5", "COORDUNCERT", "uncertainty of the coordinates, metres", Shape.METRES),
    Descriptor("15.6", "COORDDATUM", "coordinate datum, such as WGS84"),
    Descriptor("15.7", "GEOREFMETH", "georeferencing method"),
    Descriptor("16", "ELEVATION", "metres above sea level", Shape.METRES),
    Descriptor("17", "COLLDATE", "collecting date of the sample", Shape.DATE),
    Descriptor("18", "BREDCODE", "breeding institute code", is_several=True),
    Descriptor("18.1", "BREDNAME", "breeding institute or person", is_several=True),
    _code("19", "SAMPSTAT", "biological status of the accession", SAMPLE_STATUS),
    Descriptor("20", "ANCEST", "ancestral data: pedigree or description"),
    _code("21", "COLLSRC", "collecting or acquisition source", COLLECTING_SOURCE),
    Descriptor("22", "DONORCODE", "donor institute code"),
    Descriptor("22.1", "DONORNAME", "donor institute or person"),
    Descriptor("23", "DONORNUMB", "donor's accession number"),
    Descriptor("24", "OTHERNUMB", "other identifiers, INSTCODE:ID", is_several=True),
    Descriptor("25", "DUPLSITE", "site of the safety duplicate", is_several=True),
    Descriptor("25.1", "DUPLINSTNAME", "institute of the safety duplicate", is_several=True),
    Descriptor("26", "STORAGE", "type of storage", Shape.CODE, is_several=True, codes=STORAGE),
    _code("27", "MLSSTAT", "status in the multilateral system", MLS_STATUS),
    Descriptor("28", "REMARKS", "remarks, FIELD:text", is_several=True),
)
BY_NAME: Mapping[str, Descriptor] = {each.name: each for each in DESCRIPTORS}
