"""How the society's words map on the codes of the Multi-crop Passport Descriptors, V2.1."""

from crosses.calc.names import Name, read_or_plain
from crosses.models import Plant

_WORDS = {
    "": "",
    "100": "Wild",
    "400": "Breeding or research material",
    "500": "Advanced or improved cultivar",
    "999": "Other: of garden origin",
}


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
