"""The year's figures of a round, to be put before the society: counts and shares, nobody named."""

import datetime
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Q, QuerySet, Sum

from crosses.base.countries import COUNTRY_NAMES
from crosses.base.visibility import Visibility
from crosses.calc.rates import sentence
from crosses.formats.charts import Chart, CountBar, count_bars
from seedbank.bank.models import DonationLine
from seedbank.exchange.models import ListLine, Parcel, ParcelItem, Round, Wish
from seedbank.exchange.queries.listing import genera_listed, stock_of
from seedbank.exchange.queries.round import allowance_from, lots_given_by_member, offers_counted
from seedbank.members.models import Member
from seedbank.sowings.models import Count as Look
from seedbank.sowings.models import Sowing
from seedbank.sowings.queries.lots import FEWEST_GROWERS, share_of

# From so many members on a country is named; fewer stand together, lest one be known by it.
FEWEST_IN_A_COUNTRY = 3
ELSEWHERE = "other countries"
# A parcel that lies in hand over lunch or over night is not work.
LONGEST_IN_HAND = datetime.timedelta(hours=1)
ROUNDS_BESIDE = 5
# Which places in a list stand together in the chart of choices.
PLACES = (
    ("first choice", 1, 1),
    ("second choice", 2, 2),
    ("third choice", 3, 3),
    ("4th to 10th", 4, 10),
    ("11th and beyond", 11, 10_000),
)


# Member, line, place in the list, whether a reserve.
Asked = tuple[int, int, int, bool]
# Member, line, whether of the surplus, packet, day posted.
Promised = tuple[int, int, bool, int, datetime.date | None]


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of the report; `basis` says how it was reckoned, where that is not plain."""

    label: str
    value: str
    basis: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    title: str
    figures: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class Earlier:
    """A round beside which this one can be held."""

    name: str
    lines: int
    members: int
    packets: int


@dataclass(frozen=True, slots=True)
class Report:
    """All that is told of one round; charts may be none where nothing was shared out."""

    round: Round
    sections: tuple[Section, ...]
    choices: Chart | None
    countries: Chart | None
    earlier: tuple[Earlier, ...]


def report_of(round: Round) -> Report:
    """Reckon the report; the same few queries for a round of any size."""
    lists = dict(
        round.wish_lists.filter(cancelled_at=None).values_list("member_id", "entered_by_id")
    )
    people = Member.objects.filter(pk__in=lists).in_bulk()
    promised = list(
        ParcelItem.objects.filter(parcel__round=round, released_at=None).values_list(
            "parcel__member_id", "line_id", "is_surplus", "packet_id", "parcel__posted_on"
        )
    )
    shared = [
        (member, line) for member, line, is_surplus, _packet, _day in promised if not is_surplus
    ]
    wishes = list(
        Wish.objects.filter(wish_list__round=round, wish_list__cancelled_at=None).values_list(
            "wish_list__member_id", "line_id", "rank", "is_reserve"
        )
    )
    sent = [packet for _member, _line, _surplus, packet, posted_on in promised if posted_on]
    return Report(
        round=round,
        sections=(
            Section("Seed given", tuple(_given(round))),
            Section("The list", tuple(_listed(round))),
            Section("Wishes", tuple(_wished(lists, wishes))),
            Section("Shared out", tuple(_shared(round, people, shared, promised))),
            Section("Packed and posted", tuple(_posted(round, sent))),
            Section("Come up", tuple(_come_up(sent))),
        ),
        choices=_choices(wishes, shared),
        countries=_countries(people, promised),
        earlier=tuple(_earlier(round)),
    )


def _given(round: Round) -> Iterator[Figure]:
    offers = offers_counted(round)
    answers = Counter(offers.values_list("answer", flat=True))
    accepted = offers.filter(answer=DonationLine.Answer.ACCEPTED)
    packets = sum(filter(None, accepted.values_list("packets_received", flat=True)))
    given = lots_given_by_member(round)
    enough = sum(lots >= round.donor_from_lots for lots in given.values())
    yield Figure(
        "Donors",
        str(len(given)),
        f"{enough} gave enough for the donors' packets, in the year before",
    )
    yield Figure("Lots accepted", str(answers[DonationLine.Answer.ACCEPTED]))
    yield Figure("Packets accepted", str(packets))
    yield Figure("Lots declined", str(answers[DonationLine.Answer.DECLINED]))
    yield Figure("Lots offered that did not come", str(answers[DonationLine.Answer.NOT_RECEIVED]))


def _listed(round: Round) -> Iterator[Figure]:
    lines = list(ListLine.objects.filter(round=round).select_related("lot"))
    withdrawn = sum(bool(line.withdrawn_reason) for line in lines)
    yield Figure("Lines", str(len(lines)), f"{withdrawn} withdrawn later" if withdrawn else "")
    yield Figure("Genera", str(len(genera_listed(round))))
    packets = sum(stock.packets for stock in stock_of(lines).values())
    yield Figure("Packets in store or given", str(packets), "without those kept for the bank")


def _wished(lists: dict[int, int], wishes: Sequence[Asked]) -> Iterator[Figure]:
    by_post = sum(member != by for member, by in lists.items())
    reserves = sum(is_reserve for _member, _line, _rank, is_reserve in wishes)
    main = len(wishes) - reserves
    yield Figure("Members who asked", str(len(lists)), f"{by_post} of them by post")
    yield Figure("Wishes", str(main), f"and {reserves} reserves")
    if lists:
        yield Figure("Wishes a member", f"{main / len(lists):.1f}")


def _shared(
    round: Round,
    people: dict[int, Member],
    shared: list[tuple[int, int]],
    promised: Sequence[Promised],
) -> Iterator[Figure]:
    given = lots_given_by_member(round)
    allowed = sum(
        allowance_from(round, given.get(key, 0), member.country).packets
        for key, member in people.items()
    )
    served = {member for member, _line in shared}
    yield Figure("Packets shared out", str(len(shared)))
    yield Figure("Allowances filled", _share(len(shared), allowed))
    yield Figure("Members without a packet", str(len(people.keys() - served)), "of those who asked")
    surplus = len(promised) - len(shared)
    if surplus:
        yield Figure("Packets taken of the surplus", str(surplus))


def _posted(round: Round, sent: list[int]) -> Iterator[Figure]:
    parcels = list(
        Parcel.objects.filter(round=round, cancelled_at=None).values_list(
            "taken_at", "closed_at", "posted_on", "packer_id"
        )
    )
    posted = [posted_on for _taken, _closed, posted_on, _packer in parcels if posted_on]
    yield Figure("Parcels posted", f"{len(posted)} of {len(parcels)}")
    yield Figure("Packets posted", str(len(sent)))
    if posted:
        first, last = min(posted), max(posted)
        end = f"{last.day} {last:%B %Y}"
        yield Figure("Posted", end if first == last else f"{first.day} {first:%B} to {end}")
    times = [
        min(closed - taken, LONGEST_IN_HAND)
        for taken, closed, _posted, _packer in parcels
        if taken and closed and closed > taken
    ]
    if not times:
        yield Figure("Packers' hours", "not known", "no parcel was taken in hand and closed")
        return
    packers = {packer for _taken, closed, _posted, packer in parcels if closed and packer}
    hours = sum(times, datetime.timedelta()).total_seconds() / 3600
    middle = sorted(times)[len(times) // 2].total_seconds() / 60
    yield Figure(
        "Packers' hours",
        f"{hours:.1f}",
        f"{len(times)} parcels from in hand to closed, an hour each at most; half of them within"
        f" {middle:.0f} minutes; last in the hands of {len(packers)}",
    )


def _come_up(sent: list[int]) -> Iterator[Figure]:
    """Add up what recipients let the society see; from few growers no share is told."""
    sowings = Sowing.objects.filter(
        packet__in=sent, withdrawn_at=None, visibility=Visibility.SOCIETY
    )
    looked_at = Look.objects.filter(withdrawn_at=None).values("replicate__sowing")
    counted = list(
        sowings.filter(pk__in=looked_at)
        .annotate(came=Sum("replicates__germinated"))
        .order_by("pk")
        .values_list("came", "seeds_sown", "grower_id")
    )
    yield Figure(
        "Packets sown so far",
        _share(sowings.values("packet").distinct().count(), len(sent)),
        "as their growers report",
    )
    yield Figure("Sowings counted", str(len(counted)))
    growers = len({grower for _came, _sown, grower in counted})
    if growers < FEWEST_GROWERS:
        words = f"told once {FEWEST_GROWERS} growers have counted theirs"
        yield Figure("Came up", "not told yet", words)
        return
    share = share_of((came, sown) for came, sown, _grower in counted)
    yield Figure(
        "Came up",
        sentence(share) if share else "",
        f"by {growers} growers, added up; the interval allows for the scatter between sowings",
    )


def _share(count: int, of: int) -> str:
    return f"{count} of {of}, {100 * count / of:.0f} %" if of else "none"


def _choices(wishes: Sequence[Asked], shared: list[tuple[int, int]]) -> Chart | None:
    """Draw how many wishes of each place were met; of two packets of a line the better place counts."""
    left = Counter(shared)
    asked: Counter[str] = Counter()
    met: Counter[str] = Counter()
    for member, line, rank, _is_reserve in sorted(wishes, key=lambda wish: (wish[0], wish[2])):
        place = next(label for label, first, last in PLACES if first <= rank <= last)
        asked[place] += 1
        if left[member, line] > 0:
            left[member, line] -= 1
            met[place] += 1
    if not shared:
        return None
    bars = [CountBar(label, met[label], asked[label]) for label, _f, _l in PLACES if asked[label]]
    title = "Wishes met, by their place in the lists"
    return count_bars("choices", title, bars, equally_long=True)


def _countries(
    people: dict[int, Member],
    promised: Sequence[Promised],
) -> Chart | None:
    """Draw packets posted of packets promised by country."""
    members = Counter(member.country for member in people.values())
    of_member = {key: member.country for key, member in people.items()}
    given: Counter[str] = Counter()
    posted: Counter[str] = Counter()
    for member, _line, _surplus, _packet, posted_on in promised:
        country = of_member.get(member, "")
        is_many = members[country] >= FEWEST_IN_A_COUNTRY
        name = COUNTRY_NAMES.get(country, ELSEWHERE) if is_many else ELSEWHERE
        given[name] += 1
        posted[name] += bool(posted_on)
    if not given:
        return None
    bars = [CountBar(name, posted[name], packets) for name, packets in given.most_common()]
    return count_bars("countries", "Packets posted of packets given, by country", bars)


def _earlier(round: Round) -> Iterator[Earlier]:
    """Return this round and those before it, the latest first."""
    rounds = Round.objects.filter(
        Q(pk=round.pk) | Q(announced_at__isnull=False, list_opens_at__lt=round.list_opens_at)
    ).order_by("-list_opens_at")[:ROUNDS_BESIDE]
    keys = [found.pk for found in rounds]
    lines = _by_round(ListLine.objects.filter(round__in=keys), "round_id")
    lists = _by_round(
        Wish.objects.filter(wish_list__round__in=keys, wish_list__cancelled_at=None),
        "wish_list__round_id",
        "wish_list_id",
    )
    packets = _by_round(
        ParcelItem.objects.filter(parcel__round__in=keys, released_at=None), "parcel__round_id"
    )
    for found in rounds:
        yield Earlier(
            found.name,
            lines.get(found.pk, 0),
            lists.get(found.pk, 0),
            packets.get(found.pk, 0),
        )


def _by_round(records: "QuerySet[Any]", key: str, what: str = "pk") -> dict[int, int]:
    return dict(records.order_by().values_list(key).annotate(Count(what, distinct=True)))


def report_rows(report: Report) -> Iterator[tuple[str, str, str, str]]:
    """Write the report as rows of a table, the charts' figures among them."""
    for section in report.sections:
        for figure in section.figures:
            yield section.title, figure.label, figure.value, figure.basis
    for title, chart in (("Choices met", report.choices), ("By country", report.countries)):
        for label, count, of, share in chart.table_rows if chart else ():
            yield title, label, f"{count} of {of}", share
    for earlier in report.earlier:
        words = f"{earlier.members} members asked, {earlier.packets} packets given"
        yield "Beside other rounds", earlier.name, f"{earlier.lines} lines", words
