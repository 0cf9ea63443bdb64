"""Which lines a country may not ask for, and why, in the words of the rule."""

from collections.abc import Iterable

from crosses.base.countries import COUNTRY_NAMES
from crosses.models import DestinationFlag, Plant
from crosses.queries.kinds import Kinds
from seedbank.bank.kinds import LotKinds, kinds_of_lots
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


def flags_met(kinds: LotKinds, flags: Iterable[DestinationFlag]) -> list[DestinationFlag]:
    """Return the rules that are about a kind in a lot: its own, or one of its ancestors'."""
    return [flag for flag in flags if _is_about(flag, (*kinds.own, *kinds.ancestors))]


def flag_words(flag: DestinationFlag, kinds: LotKinds) -> str:
    """Say a rule with its source; where only an ancestor is meant, which."""
    words = f"{flag.words} ({flag.source}, read {flag.checked_on})"
    if _is_about(flag, kinds.own):
        return words
    return f"{words}, for {flag.taxon or flag.genus} among its ancestors"


def _is_about(flag: DestinationFlag, kinds: Kinds) -> bool:
    if flag.taxon_id:
        return any(kind.taxon is not None and kind.taxon.pk == flag.taxon_id for kind in kinds)
    genus = flag.genus.lower()
    return any(kind.genus == genus for kind in kinds)


def bars_for(lines: Iterable[ListLine], countries: Iterable[str]) -> dict[tuple[int, str], str]:
    """Return the words of the bar by line and country; a pair without one may be asked for.

    The lines come with `KIND_RELATIONS` loaded.
    """
    wanted = sorted(set(countries))
    flags = list(
        DestinationFlag.objects.filter(kind=DestinationFlag.Kind.BARRED, country__in=["", *wanted])
        .select_related("taxon")
        .order_by("pk")
    )
    known = list(lines)
    kinds = kinds_of_lots([line.lot for line in known]) if flags else {}
    own = {
        (bar.line_id, bar.country): bar.words
        for bar in LineBar.objects.filter(country__in=wanted, line__in=[line.pk for line in known])
    }
    bars: dict[tuple[int, str], str] = {}
    for line in known if flags else ():
        for flag in flags_met(kinds[line.lot_id], flags):
            words = flag_words(flag, kinds[line.lot_id])
            for country in [flag.country] if flag.country else wanted:
                bars.setdefault((line.pk, country), words)
    return bars | own


def bar_sentence(words: str, country: str) -> str:
    return f"Not to {COUNTRY_NAMES.get(country, country)}: {words}"
