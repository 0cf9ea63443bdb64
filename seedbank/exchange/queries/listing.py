"""What a line of the list says, to the member who reads it."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, Max, Min, Q, QuerySet

from crosses.calc.names import sort_key
from crosses.calc.rates import Share
from crosses.queries.kinds import genus_written
from seedbank.bank.kinds import cautions_of_lots, hazards_of_lots
from seedbank.bank.models import Lot, Packet
from seedbank.exchange.models import ListLine, ParcelItem, Round, Wish
from seedbank.exchange.queries.bars import (
    KIND_PREFETCH,
    KIND_RELATIONS,
    bar_sentence,
    bars_for,
    parents_of,
)
from seedbank.members.models import Member
from seedbank.sowings.queries import germination_of_lots

HAZARDOUS, HARMLESS = "hazardous", "without"


@dataclass(frozen=True, slots=True)
class Stock:
    """Packets of a line that can be shared out, and how many seeds are in each."""

    packets: int
    seeds_words: str


@dataclass(frozen=True, slots=True)
class Filters:
    """What the list is narrowed to; empty text narrows nothing."""

    text: str = ""
    genus: str = ""
    origin: str = ""
    parent: str = ""
    year: int | None = None
    caution: str = ""
    only_left: bool = False


@dataclass(frozen=True, slots=True)
class ListedLine:
    """One line as it is read, in words."""

    line: ListLine
    number: int
    name: str
    genus: str
    description: str
    origin: str
    parents: tuple[str, ...]
    year: int
    age: str
    donor_code: str
    seeds: str
    packets: int
    asked: int
    odds: str
    germination: Share | None
    caution: str
    bar: str
    withdrawn: str
    wished_rank: int | None

    @property
    def can_be_asked(self) -> bool:
        return not self.bar and not self.withdrawn


def lines_with_kinds(lines: QuerySet[ListLine]) -> QuerySet[ListLine]:
    return lines.select_related("round", "lot__raised_by", *KIND_RELATIONS).prefetch_related(
        KIND_PREFETCH
    )


def narrowed(lines: QuerySet[ListLine], filters: Filters) -> QuerySet[ListLine]:
    """Return the lines that match in every way asked; each word of the text must be found."""
    words = filters.text.split()
    if len(words) == 1 and words[0].isdecimal():
        lines = lines.filter(line_number=int(words[0][:9]))
        words = []
    for word in words:
        lines = lines.filter(
            Q(lot__name_text__icontains=word)
            | Q(description__icontains=word)
            | Q(lot__taxon__common_name__icontains=word)
            | Q(lot__raised_by__donor_code__iexact=word)
        )
    if filters.genus:
        lines = lines.filter(
            Q(lot__taxon__genus__iexact=filters.genus)
            | Q(lot__name_text__istartswith=filters.genus)
        )
    if filters.origin:
        lines = lines.filter(lot__origin=filters.origin)
    if filters.year:
        lines = lines.filter(lot__year=filters.year)
    if filters.parent:
        lines = lines.filter(
            Q(lot__harvest__cross__seed_parent__name_text__icontains=filters.parent)
            | Q(lot__harvest__cross__pollen_parent__name_text__icontains=filters.parent)
            | Q(lot__harvest__cross__pollen_shares__plant__name_text__icontains=filters.parent)
        ).distinct()
    if filters.caution or filters.only_left:
        lines = lines.filter(pk__in=_reckoned(lines, filters))
    return lines


def _reckoned(lines: QuerySet[ListLine], filters: Filters) -> list[int]:
    """Return the keys of lines by what no column holds: a caution, and packets still to be had."""
    known = list(lines.select_related("round", "lot__taxon"))
    if filters.caution:
        hazards = hazards_of_lots([line.lot for line in known])
        is_wanted = filters.caution == HAZARDOUS
        known = [line for line in known if bool(hazards[line.lot_id]) == is_wanted]
    if filters.only_left and known:
        # The lines of a list are of one round.
        stock, asked = stock_of(known), asked_by_line(known[0].round)
        known = [
            line
            for line in known
            if not line.withdrawn_reason and stock[line.pk].packets > asked.get(line.pk, 0)
        ]
    return [line.pk for line in known]


def genera_listed(round: Round) -> list[str]:
    names = ListLine.objects.filter(round=round).values_list("lot__name_text", flat=True)
    return sorted({genus_written(name) for name in names})


def stock_of(lines: Iterable[ListLine]) -> dict[int, Stock]:
    """Return, by line, the packets that can be shared out: in store or promised in this round.

    What is kept for the bank is not among them.
    """
    known = list(lines)
    in_store = _packets_in_store([line.lot_id for line in known])
    promised = dict(
        ParcelItem.objects.filter(line__in=[line.pk for line in known], released_at=None)
        .values_list("line_id")
        .annotate(Count("id"))
        .order_by()
    )
    stock = {}
    for line in known:
        free, words = in_store.get(line.lot_id, (0, ""))
        held = promised.get(line.pk, 0)
        stock[line.pk] = Stock(max(held, free + held - line.kept_back), words)
    return stock


def _packets_in_store(lot_ids: list[int]) -> dict[int, tuple[int, str]]:
    rows = (
        Packet.objects.filter(lot__in=lot_ids)
        .values("lot_id")
        .annotate(
            free=Count("id", filter=Q(state=Packet.State.IN_STORE)),
            fewest=Min("seeds_left", filter=Q(state=Packet.State.IN_STORE, is_pinch=False)),
            most=Max("seeds_left", filter=Q(state=Packet.State.IN_STORE, is_pinch=False)),
        )
        .order_by()
    )
    return {row["lot_id"]: (row["free"], _seeds_words(row["fewest"], row["most"])) for row in rows}


def _seeds_words(fewest: int | None, most: int | None) -> str:
    if fewest is None or most is None:
        return "a pinch of dust seed"
    if fewest == most:
        return "1 seed" if most == 1 else f"{most} seeds"
    return f"{fewest}–{most} seeds"


def asked_by_line(round: Round, *, without: Member | None = None) -> dict[int, int]:
    """Count the members who have a line among their main wishes so far."""
    wishes = Wish.objects.filter(
        wish_list__round=round, wish_list__cancelled_at=None, is_reserve=False
    )
    if without is not None:
        wishes = wishes.exclude(wish_list__member=without)
    return dict(
        wishes.values_list("line_id").annotate(Count("wish_list_id", distinct=True)).order_by()
    )


def wished_ranks(round: Round, member: Member) -> dict[int, int]:
    wishes = Wish.objects.filter(
        wish_list__round=round, wish_list__member=member, wish_list__cancelled_at=None
    ).order_by("-rank")
    return dict(wishes.values_list("line_id", "rank"))


def listed_lines(
    round: Round, lines: Iterable[ListLine], viewer: Member, year: int
) -> list[ListedLine]:
    """Return lines in words for one reader; the number of queries does not grow with the lines."""
    known = list(lines)
    stock = stock_of(known)
    asked = asked_by_line(round)
    ranks = wished_ranks(round, viewer)
    bars = bars_for(known, [viewer.country])
    germination = germination_of_lots([line.lot_id for line in known], viewer)
    cautions = cautions_of_lots([line.lot for line in known])
    return [
        _in_words(
            line,
            stock=stock[line.pk],
            asked=asked.get(line.pk, 0),
            rank=ranks.get(line.pk),
            bar=bar_sentence(bars[line.pk, viewer.country], viewer.country)
            if (line.pk, viewer.country) in bars
            else "",
            germination=germination.get(line.lot_id),
            caution=cautions[line.lot_id],
            year=year,
        )
        for line in known
    ]


def _in_words(
    line: ListLine,
    *,
    stock: Stock,
    asked: int,
    rank: int | None,
    bar: str,
    germination: Share | None,
    caution: str,
    year: int,
) -> ListedLine:
    lot = line.lot
    return ListedLine(
        line=line,
        number=line.line_number,
        name=lot.name_text,
        genus=genus_written(lot.name_text),
        description=line.description,
        origin=origin_words(lot),
        parents=tuple(parent.name_text for parent in parents_of(lot)),
        year=lot.year,
        age=age_words(lot.year, year),
        donor_code=lot.raised_by.donor_code or "",
        seeds=stock.seeds_words,
        packets=stock.packets,
        asked=asked,
        odds=odds_words(stock.packets, asked),
        germination=germination,
        caution=caution,
        bar=bar,
        withdrawn=line.withdrawn_reason,
        wished_rank=rank,
    )


def origin_words(lot: Lot) -> str:
    """Say in words where seed comes from; wild seed with its place and its permit."""
    if lot.origin != Lot.Origin.WILD:
        return lot.get_origin_display()
    place = ", ".join(part for part in (lot.wild_where, lot.get_wild_country_display()) if part)
    permit = f"permit {lot.wild_permit}" if lot.wild_permit else "no permit on record"
    return f"collected in the wild{f', {place}' if place else ''}; {permit}"


def age_words(harvested: int, now: int) -> str:
    years = now - harvested
    if years <= 0:
        return "fresh"
    return "1 year old" if years == 1 else f"{years} years old"


def odds_words(packets: int, asked: int) -> str:
    """Say how many want a line; the numbers behind the words always stand beside them."""
    if not packets:
        return "none left to share out"
    of = f"{packets} packet{'' if packets == 1 else 's'}, {asked} asked so far"
    if asked < packets:
        return f"enough so far ({of})"
    return f"more wishes than packets ({of})" if asked > packets else f"just enough so far ({of})"


def in_list_order(lines: Iterable[ListLine]) -> list[ListLine]:
    """Sort lines A-Z as the printed list does; the lot's number settles what a name leaves open."""
    return sorted(lines, key=lambda line: (sort_key(line.lot.name_text), line.lot.number))


def lots_to_list(round: Round) -> QuerySet[Lot]:
    """Return the bank's lots with packets in store that are not on the list of a round yet."""
    return (
        Lot.objects.filter(withdrawn_at=None, packets__state=Packet.State.IN_STORE)
        .exclude(list_lines__round=round)
        .annotate(packets_free=Count("packets", filter=Q(packets__state=Packet.State.IN_STORE)))
        .order_by("name_text", "number")
    )


def packets_given(line: ListLine) -> dict[str, int]:
    """Count the packets of a line in parcels: not yet posted, packed among them, and posted."""
    is_posted = Q(parcel__posted_on__isnull=False)
    given = ParcelItem.objects.filter(line=line, released_at=None, parcel__cancelled_at=None)
    return given.aggregate(
        waiting=Count("pk", filter=~is_posted),
        packed=Count("pk", filter=~is_posted & Q(packed_at__isnull=False)),
        posted=Count("pk", filter=is_posted),
    )
