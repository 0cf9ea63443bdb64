"""What the pages that see the whole service show."""

from dataclasses import dataclass

from django.db.models import Q

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.calc.checkdigit import KINDS, read_number
from seedbank.bank.access import lots_visible_to
from seedbank.members.models import Member

MOST_FOUND = 25
# Which page shows what a number names.
PAGE_OF_KIND = {
    "plant": "plant-detail",
    "cross": "cross-detail",
    "pollination": "pollination-detail",
    "harvest": "harvest-detail",
    "lot": "lot-detail",
    "packet": "packet-detail",
    "sowing": "sowing-detail",
    "donation": "donation-detail",
    "parcel": "parcel-detail",
}


@dataclass(frozen=True)
class Found:
    kind: str
    number: str
    name_text: str
    url_name: str


def page_of_number(text: str) -> tuple[str, str] | None:
    """Return the url name and the written number, or None where the text is no number at all.

    Raises BadInput when it was meant as a number and has a mistyped digit.
    """
    head = text.strip().rstrip("/").rpartition("/")[2]
    kind = next((kind for kind, letter in KINDS.items() if head[:1].upper() == letter), None)
    if kind is None or sum(character.isdigit() for character in head) < 4:
        # Digits alone are a packet's, the number that is typed most.
        if sum(character.isdigit() for character in head) < 8 or any(c.isalpha() for c in head):
            return None
        kind = "packet"
    return PAGE_OF_KIND[kind], read_number(head, kind=kind)


def find_by_name(text: str, viewer: Member) -> list[Found]:
    """Look for a word in the names of plants, crosses' own numbers and seed lots."""
    plants = plants_visible_to(viewer).filter(
        Q(name_text__icontains=text) | Q(own_label__iexact=text), withdrawn_at=None
    )
    crosses = (
        crosses_visible_to(viewer)
        .filter(
            Q(own_number__iexact=text)
            | Q(seed_parent__name_text__icontains=text)
            | Q(pollen_parent__name_text__icontains=text),
            withdrawn_at=None,
        )
        .select_related("seed_parent", "pollen_parent")
    )
    lots = lots_visible_to(viewer).filter(name_text__icontains=text, withdrawn_at=None)
    return [
        *(
            Found("plant", p.number, p.name_text, "plant-detail")
            for p in plants.order_by("number")[:MOST_FOUND]
        ),
        *(
            Found("cross", c.number, f"{c.own_number} ({c.season})", "cross-detail")
            for c in crosses.order_by("-season", "number")[:MOST_FOUND]
        ),
        *(
            Found("lot", lot.number, lot.name_text, "lot-detail")
            for lot in lots.order_by("number")[:MOST_FOUND]
        ),
    ]
