"""The list as it is printed: the same words for every reader, so nothing that is one reader's alone."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from crosses.base.countries import COUNTRY_NAMES
from crosses.calc.rates import Share
from seedbank.exchange.models import ListLine, Round
from seedbank.exchange.queries.bars import bars_for
from seedbank.exchange.queries.listing import ListedLine, lines_with_kinds, listed_lines
from seedbank.members.models import Member

# A reader to whom nothing belongs: what she sees, everybody may read.
NOBODY = Member(pk=0, country="")


@dataclass(frozen=True, slots=True)
class CatalogueLine:
    """One line in print."""

    number: int
    name: str
    description: str
    facts: str
    germination: Share | None
    caution: str
    not_to: str
    withdrawn: str


@dataclass(frozen=True, slots=True)
class CatalogueGenus:
    """The lines of one genus, under its heading."""

    genus: str
    lines: tuple[CatalogueLine, ...]


@dataclass(frozen=True, slots=True)
class Catalogue:
    """A whole list, in order of its numbers, which run A-Z."""

    round: Round
    genera: tuple[CatalogueGenus, ...]

    @property
    def lines(self) -> int:
        return sum(len(genus.lines) for genus in self.genera)


def catalogue_of(round: Round, year: int) -> Catalogue:
    """Return the printed list; the same few queries for any number of lines."""
    lines = list(lines_with_kinds(ListLine.objects.filter(round=round)).order_by("line_number"))
    listed = listed_lines(round, lines, NOBODY, year)
    not_to = _barred_countries(lines)
    return Catalogue(
        round=round,
        genera=tuple(
            CatalogueGenus(genus, tuple(_in_print(line, not_to) for line in group))
            for genus, group in groupby(listed, key=lambda line: line.genus)
        ),
    )


def _barred_countries(lines: Iterable[ListLine]) -> dict[int, str]:
    """Say, by line, to which of the members' countries it may not go."""
    countries = sorted(
        set(Member.objects.filter(is_active=True).order_by().values_list("country", flat=True))
    )
    barred: dict[int, list[str]] = {}
    for line, country in bars_for(lines, countries):
        barred.setdefault(line, []).append(country)
    return {
        line: "anywhere"
        if len(found) == len(countries)
        else ", ".join(sorted(COUNTRY_NAMES.get(country, country) for country in found))
        for line, found in barred.items()
    }


def _in_print(line: ListedLine, not_to: dict[int, str]) -> CatalogueLine:
    donor = f"from {line.donor_code}" if line.donor_code else ""
    facts = [line.origin, f"harvested {line.year}, {line.age}", f"{line.seeds} a packet", donor]
    return CatalogueLine(
        number=line.number,
        name=line.name,
        description=line.description,
        facts="; ".join(filter(None, facts)),
        germination=line.germination,
        caution=line.caution,
        not_to=not_to.get(line.line.pk, ""),
        withdrawn=line.withdrawn,
    )
