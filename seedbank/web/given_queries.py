"""What became of the seed a member gave: listed, sent out, sown, come up; never by whom."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, Q

from crosses.calc.rates import Share
from seedbank.bank.models import DonationLine, Packet
from seedbank.exchange.models import ListLine
from seedbank.members.models import Member
from seedbank.sowings.queries.counted import counted_sowings
from seedbank.sowings.queries.lots import FEWEST_GROWERS, share_of


@dataclass(frozen=True)
class GivenLine:
    """One lot of a donation and all that is known of it since."""

    line: DonationLine
    listed: tuple[tuple[str, str, int], ...]
    sent: int
    sowings: int
    germination: Share | None
    words: str


@dataclass(frozen=True)
class _Sown:
    results: tuple[tuple[int, int], ...]
    growers: int


def given_by(donor: Member) -> list[GivenLine]:
    """Return what a member gave, the latest first; the same few queries for any number of lots."""
    lines = list(
        DonationLine.objects.filter(donation__donor=donor, donation__withdrawn_at=None)
        .select_related("donation", "lot")
        .order_by("-donation__offered_at", "pk")
    )
    lots = [line.lot_id for line in lines if line.answer == DonationLine.Answer.ACCEPTED]
    listed, sent, sown = _listed(lots), _sent(lots, donor), _sown(lots, donor)
    return [
        _in_words(
            line, listed.get(line.lot_id, ()), sent.get(line.lot_id, 0), sown.get(line.lot_id)
        )
        for line in lines
    ]


def _in_words(
    line: DonationLine, listed: Iterable[tuple[str, str, int]], sent: int, sown: _Sown | None
) -> GivenLine:
    is_enough = sown is not None and sown.growers >= FEWEST_GROWERS
    if sown is None:
        words = "no sowing of it has been counted yet"
    elif is_enough:
        words = f"from {len(sown.results)} counted sowings of {sown.growers} growers"
    else:
        words = (
            f"told once {FEWEST_GROWERS} growers have counted theirs, so that none is given away"
        )
    return GivenLine(
        line=line,
        listed=tuple(listed),
        sent=sent,
        sowings=len(sown.results) if sown else 0,
        germination=share_of(sown.results) if sown and is_enough else None,
        words=words,
    )


def _listed(lots: list[int]) -> dict[int, list[tuple[str, str, int]]]:
    """Return the rounds, by lot, in whose published list it stands, with its line."""
    lines = ListLine.objects.filter(
        lot__in=lots, round__listed_at__isnull=False, withdrawn_reason=""
    )
    listed: dict[int, list[tuple[str, str, int]]] = {}
    for lot, slug, name, number in lines.order_by("-round__list_opens_at").values_list(
        "lot_id", "round__slug", "round__name", "line_number"
    ):
        listed.setdefault(lot, []).append((slug, name, number))
    return listed


def _sent(lots: list[int], donor: Member) -> dict[int, int]:
    """Count the packets, by lot, that went out to others."""
    out = Packet.objects.filter(lot__in=lots, movements__kind="sent").exclude(holder=donor)
    return dict(out.order_by().values_list("lot_id").annotate(Count("pk", distinct=True)))


def _sown(lots: list[int], donor: Member) -> dict[int, _Sown]:
    """Gather the counted sowings, by lot, of everybody but the donor, who knows their own."""
    results: dict[int, list[tuple[int, int]]] = {}
    growers: dict[int, set[int]] = {}
    rows = (
        counted_sowings(donor)
        .filter(~Q(grower=donor), packet__lot__in=lots)
        .order_by("pk")
        .values_list("packet__lot_id", "grower_id", "germinated", "seeds_looked_at")
    )
    for lot, grower, germinated, seeds in rows:
        results.setdefault(lot, []).append((germinated, seeds))
        growers.setdefault(lot, set()).add(grower)
    return {lot: _Sown(tuple(found), len(growers[lot])) for lot, found in results.items()}
