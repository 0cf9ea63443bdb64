"""The list as rows for a spreadsheet; the words are those of the page."""

from collections.abc import Iterable, Iterator

from crosses.calc.rates import sentence
from seedbank.exchange.queries.listing import ListedLine

LIST_HEADINGS = (
    "line",
    "name",
    "seed parent",
    "pollen",
    "origin",
    "year",
    "donor",
    "seeds a packet",
    "packets",
    "asked so far",
    "germination so far",
    "caution",
    "not for you",
    "withdrawn",
    "description",
)


def list_rows(listed: Iterable[ListedLine]) -> Iterator[tuple[str | int, ...]]:
    for line in listed:
        yield (
            line.number,
            line.name,
            line.parents[0] if line.parents else "",
            "; ".join(line.parents[1:]),
            line.origin,
            line.year,
            line.donor_code,
            line.seeds,
            line.packets,
            line.asked,
            sentence(line.germination) if line.germination else "",
            line.caution,
            line.bar,
            line.withdrawn,
            line.description,
        )
