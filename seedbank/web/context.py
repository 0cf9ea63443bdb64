"""What every page knows: the society's name, what the person signed in may do, and where one is."""

from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.http import HttpRequest

from seedbank.members.models import Member


@dataclass(frozen=True)
class Section:
    """A link of the main menu, and the first words of the url names that lie behind it."""

    label: str
    url_name: str
    nouns: frozenset[str]


GROWING = (
    Section("Bench", "bench", frozenset({"bench"})),
    Section("Flowers", "pollination-list", frozenset({"pollination", "check"})),
    Section("Crosses", "cross-list", frozenset({"cross", "harvest"})),
    Section("Plants", "plant-list", frozenset({"plant"})),
    Section("Seed", "lot-list", frozenset({"lot", "packet", "packets", "place"})),
    Section("Sowings", "sowing-list", frozenset({"sowing", "count", "seedling"})),
    Section(
        "Exchange",
        "round-list",
        frozenset({"round", "list", "line", "wish", "wishes", "allocation", "my", "member"}),
    ),
)
DONATIONS = Section("Donations", "donation-list", frozenset({"donation"}))
PACKING = Section("Packing", "packing", frozenset({"packing", "picklist", "parcel", "slips"}))


def society(request: HttpRequest) -> dict[str, Any]:
    member = getattr(request, "user", None)
    if not isinstance(member, Member):
        return {"society_name": settings.SOCIETY_NAME}
    is_keeper, is_packer = member.is_keeper, member.is_packer
    sections = [*GROWING, *[DONATIONS] * is_keeper, *[PACKING] * is_packer]
    here = request.resolver_match.url_name if request.resolver_match else None
    return {
        "society_name": settings.SOCIETY_NAME,
        "is_keeper": is_keeper,
        "is_packer": is_packer,
        "menu": [(section, _current(section, here or "")) for section in sections],
    }


def _current(section: Section, here: str) -> str:
    """Return the value of aria-current: this page, or a page behind this link."""
    if here == section.url_name:
        return "page"
    return "true" if here.partition("-")[0] in section.nouns else ""
