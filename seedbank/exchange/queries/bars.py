"""Which lines a country may not ask for, and why, in the words of the rule."""

from collections.abc import Iterable

from crosses.base.countries import COUNTRY_NAMES
from crosses.models import DestinationFlag, Plant
from seedbank.bank.models import Lot
from seedbank.exchange.models import LineBar, ListLine

# What must be loaded with a line so that its kinds can be told without a query a line.
KIND_RELATIONS = (
    "lot__taxon",
    "lot__harvest__cross__seed_parent__taxon",
    "lot__harvest__cross__pollen_parent__taxon",
)
KIND_PREFETCH = "lot__harvest__cross__pollen_shares__plant__taxon"


def parents_of(lot: Lot) -> list[Plant]:
    """Return the plants a lot comes from, seed parent first; none where no cross is recorded."""
    if lot.harvest is None:
        return []
    cross = lot.harvest.cross
    pollen = (
        [cross.pollen_parent]
        if cross.pollen_parent
        else [share.plant for share in cross.pollen_shares.all()]
    )
    return [cross.seed_parent, *pollen]


def genus_of(name_text: str) -> str:
    """Return the genus a written name begins with, its multiplication sign left off.

    >>> genus_of("×Agropogon littoralis"), genus_of("Primula 'Oddwater Lemon' × P. veris")
    ('Agropogon', 'Primula')
    """
    words = name_text.replace("×", " ").split()
    return words[0].strip("'\"(),") if words else ""


def kinds_of(lot: Lot) -> tuple[set[str], set[int]]:
    """Return the genera (lower case) and the taxa in a lot: its own and its parents'."""
    records: list[Lot | Plant] = [lot, *parents_of(lot)]
    taxa = [record.taxon for record in records if record.taxon]
    genera = {taxon.genus for taxon in taxa}
    genera |= {genus_of(record.name_text) for record in records}
    return {genus.lower() for genus in genera}, {taxon.pk for taxon in taxa}


def flags_met(lot: Lot, flags: Iterable[DestinationFlag]) -> list[DestinationFlag]:
    """Return the rules that are about a kind in this lot: its own, or a parent's."""
    genera, taxa = kinds_of(lot)
    return [
        flag
        for flag in flags
        if (flag.taxon_id in taxa if flag.taxon_id else flag.genus.lower() in genera)
    ]


def bars_for(lines: Iterable[ListLine], countries: Iterable[str]) -> dict[tuple[int, str], str]:
    """Return the words of the bar by line and country; a pair without one may be asked for.

    The lines come with `KIND_RELATIONS` and `KIND_PREFETCH` loaded.
    """
    wanted = sorted(set(countries))
    flags = list(
        DestinationFlag.objects.filter(
            kind=DestinationFlag.Kind.BARRED, country__in=["", *wanted]
        ).order_by("pk")
    )
    known = list(lines)
    own = {
        (bar.line_id, bar.country): bar.words
        for bar in LineBar.objects.filter(country__in=wanted, line__in=[line.pk for line in known])
    }
    bars: dict[tuple[int, str], str] = {}
    for line in known:
        for flag in flags_met(line.lot, flags):
            words = f"{flag.words} ({flag.source}, read {flag.checked_on})"
            for country in [flag.country] if flag.country else wanted:
                bars.setdefault((line.pk, country), words)
    return bars | own


def bar_sentence(words: str, country: str) -> str:
    return f"Not to {COUNTRY_NAMES.get(country, country)}: {words}"
