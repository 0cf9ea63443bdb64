"""What the bank's pages show."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import (
    Case,
    Count,
    Exists,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Sum,
    Value,
    When,
)

from crosses.access import crosses_visible_to
from crosses.models import Harvest, Plant
from crosses.queries.written import cross_formula, parents_of
from seedbank.bank.access import bank_places, lots_visible_to, packets_in_the_hands_of, places_of
from seedbank.bank.kinds import caution_of
from seedbank.bank.models import (
    CautionRule,
    Donation,
    DonationLine,
    Lot,
    Movement,
    Packet,
    Place,
)
from seedbank.calc.packetplan import PacketPlan, plan_packets
from seedbank.calc.packetstate import Balance, balance_of_states
from seedbank.members.models import Member

MOST_SUGGESTIONS = 300
LONGEST_CODE = 20
# What a field holds whose place is to be written down with the form.
NEW_PLACE = "new place: "
USUAL_SEEDS_PER_PACKET = 25


@dataclass(frozen=True)
class LotFacts:
    """A lot as its page shows it to one member."""

    lot: Lot
    seed_parent: Plant | None
    pollen_parents: tuple[Plant, ...]
    origin: str
    raised_by: str
    owner: str
    seeds: str
    seeds_in_packets: int
    storage: str
    packets: tuple[Packet, ...]
    balance: Balance
    donation_lines: tuple[DonationLine, ...]
    caution: str
    may_see_cross: bool
    is_mine: bool
    may_change: bool


def lot_facts(lot: Lot, viewer: Member) -> LotFacts:
    """Gather a lot's page; whose packets lie at home where is shown to their holder alone."""
    counted: Counter[str] = Counter(lot.packets.values_list("state", flat=True))
    parents = parents_of(lot.harvest.cross) if lot.harvest else None
    in_packets = lot.packets.filter(split_from=None).aggregate(seeds=Sum("seeds"))["seeds"] or 0
    may_see_cross = lot.harvest is not None and (
        crosses_visible_to(viewer).filter(pk=lot.harvest.cross_id).exists()
    )
    may_see_offers = viewer.is_keeper or lot.owner_id == viewer.pk
    offers = lot.donation_lines.filter(donation__withdrawn_at=None).select_related("donation")
    return LotFacts(
        lot=lot,
        seed_parent=parents.seed_parent if parents else None,
        pollen_parents=tuple(plant for plant, _part in parents.pollen) if parents else (),
        origin=origin_in_words(lot),
        raised_by=person_in_words(lot.raised_by, viewer),
        owner=person_in_words(lot.owner, viewer) if lot.owner else "the society's bank",
        seeds=seeds_in_words(lot),
        seeds_in_packets=in_packets,
        storage=storage_in_words(lot),
        packets=tuple(_packets_for(lot, viewer)),
        balance=balance_of_states(dict(counted)),
        donation_lines=tuple(offers) if may_see_offers else (),
        caution=caution_of(lot),
        may_see_cross=may_see_cross,
        is_mine=lot.owner_id == viewer.pk,
        may_change=viewer.is_keeper if lot.owner_id is None else lot.owner_id == viewer.pk,
    )


def _packets_for(lot: Lot, viewer: Member) -> QuerySet[Packet]:
    """The packets a viewer can do something with; others have only the sum of them."""
    return (
        packets_in_the_hands_of(viewer)
        .filter(lot=lot)
        .select_related("place", "holder")
        .order_by("number")
    )


def person_in_words(person: Member, viewer: Member) -> str:
    """A donor's name is for themselves and the keeper; others read the donor's code."""
    if person == viewer:
        return "you"
    if viewer.is_keeper:
        return f"{person.name} ({person.number})"
    return f"donor {person.donor_code}" if person.donor_code else "a member"


def origin_in_words(lot: Lot) -> str:
    if lot.origin != Lot.Origin.WILD:
        return lot.get_origin_display()
    where = ", ".join(part for part in (lot.wild_where, lot.get_wild_country_display()) if part)
    permit = f"permit {lot.wild_permit}" if lot.wild_permit else "no permit on record"
    return f"collected in the wild{f' ({where})' if where else ''}, {permit}"


def seeds_in_words(lot: Lot) -> str:
    if lot.seeds is None:
        return "not counted yet"
    if lot.seed_counting == Lot.SeedCounting.COUNTED:
        return f"{lot.seeds}, counted"
    if lot.seeds_low is not None and lot.seeds_high is not None:
        between = f" (between {lot.seeds_low} and {lot.seeds_high}, 95 %)"
    else:
        between = ""
    return f"about {lot.seeds}{between}, {lot.get_seed_counting_display()}"


def storage_in_words(lot: Lot) -> str:
    facts = [
        (lot.storage_temperature_celsius, "°C"),
        (lot.storage_moisture_percent, "% seed moisture"),
        (lot.storage_humidity_percent, "% air humidity"),
    ]
    return ", ".join(f"{value.normalize():f} {unit}" for value, unit in facts if value is not None)


def seeds_not_in_packets(lot: Lot) -> int | None:
    """Seeds of a counted lot that lie loose; None where nobody has counted."""
    if lot.seeds is None or lot.seed_counting == Lot.SeedCounting.GUESSED:
        return None
    first_packets = lot.packets.filter(split_from=None, is_pinch=False)
    return max(0, lot.seeds - (first_packets.aggregate(seeds=Sum("seeds"))["seeds"] or 0))


def packet_suggestion(lot: Lot) -> PacketPlan | None:
    """Divide a lot of which no packet is made yet; None where nobody has counted."""
    return None if lot.packets.exists() else divided(lot)


def divided(counted: Lot | Harvest) -> PacketPlan | None:
    """Divide seed that was counted, an estimate by its lower end; None where nobody has."""
    if counted.seeds is None or counted.seed_counting == Lot.SeedCounting.GUESSED:
        return None
    fewest = counted.seeds if counted.seeds_low is None else counted.seeds_low
    plan = plan_packets(fewest, seeds_per_packet=USUAL_SEEDS_PER_PACKET)
    return plan if plan.packets else None


def left_in_words(seeds: int, how_many: int, seeds_each: int) -> str:
    """Say what so many packets take of a number of seeds, and what is left."""
    taken = how_many * seeds_each
    packets = f"{how_many} packet{'' if how_many == 1 else 's'} of {seeds_each}"
    if taken > seeds:
        return f"{packets} take {taken} seeds: {taken - seeds} more than the {seeds} written down."
    return f"{packets} take {taken} of {seeds} seeds; {seeds - taken} stay loose in the lot."


def lots_found(viewer: Member, *, text: str = "", whose: str = "") -> QuerySet[Lot]:
    """Lots of a list page with their packets counted; `whose` is mine, bank or all."""
    lots = lots_visible_to(viewer).filter(withdrawn_at=None)
    if whose == "mine":
        lots = lots.filter(Q(owner=viewer) | Q(raised_by=viewer))
    if whose == "bank":
        lots = lots.filter(packets__state=Packet.State.IN_STORE).distinct()
    if text:
        lots = lots.filter(Q(name_text__icontains=text) | Q(number__istartswith=text.strip()))
    return (
        lots.select_related("raised_by", "owner")
        .annotate(
            packets_in_store=Count(
                "packets", filter=Q(packets__state=Packet.State.IN_STORE), distinct=True
            ),
            packets_in_hand=Count(
                "packets",
                filter=Q(packets__state=Packet.State.WITH_MEMBER, packets__holder=viewer),
                distinct=True,
            ),
        )
        .order_by("-year", "name_text", "number")
    )


def lots_to_offer(donor: Member) -> QuerySet[Lot]:
    """A donor's own lots with packets in hand that are not offered yet."""
    in_hand = Q(packets__state=Packet.State.WITH_MEMBER, packets__holder=donor)
    return (
        Lot.objects.filter(owner=donor, withdrawn_at=None)
        .annotate(packets_in_hand=Count("packets", filter=in_hand, distinct=True))
        .filter(packets_in_hand__gt=0)
        .order_by("name_text", "year")
    )


def donations_listed(donations: QuerySet[Donation]) -> QuerySet[Donation]:
    """Donations of a list page, those that wait for the keeper first."""
    waiting = Q(lines__answer=DonationLine.Answer.WAITING)
    return (
        donations.select_related("donor")
        .annotate(lots=Count("lines"), lots_waiting=Count("lines", filter=waiting))
        .order_by("withdrawn_at", "-lots_waiting", "-offered_at")
    )


def lines_of(donation: Donation) -> QuerySet[DonationLine]:
    return donation.lines.select_related("lot__taxon", "lot__raised_by", "answered_by")


def lines_with_packets(donation: Donation) -> list[DonationLine]:
    """Return the lines, each lot with its packets of this donation that lie in the store."""
    here = Packet.objects.filter(
        state=Packet.State.IN_STORE,
        movements__kind=Movement.Kind.RECEIVED,
        movements__reference=donation.number,
    ).order_by("number")
    return list(
        lines_of(donation).prefetch_related(
            Prefetch("lot__packets", queryset=here.distinct(), to_attr="packets_of_donation")
        )
    )


def checked_in(line: DonationLine) -> int:
    """Count the packets of a line that were scanned into the store."""
    return checked_in_by_line(line.donation).get(line.lot_id, 0)


def checked_in_by_line(donation: Donation) -> dict[int, int]:
    """Count, by lot, the packets of an envelope that were scanned into the store; one query."""
    received = Movement.objects.filter(
        kind=Movement.Kind.RECEIVED, reference=donation.number
    ).order_by()
    return dict(received.values_list("packet__lot_id").annotate(Count("packet", distinct=True)))


def waiting_lines(donation: Donation) -> list[DonationLine]:
    return list(lines_of(donation).filter(answer=DonationLine.Answer.WAITING))


def places_with_packets(places: QuerySet[Place]) -> QuerySet[Place]:
    return places.annotate(packets_here=Count("packets")).select_related("owner")


def place_by_code(user: Member, code: str, *, of_bank: bool) -> Place | None:
    places = bank_places() if of_bank else user.places.all()
    wanted = code.strip()
    return places.filter(code__iexact=wanted).first() or places.filter(name__iexact=wanted).first()


def new_place(name: str, *, owner: Member | None) -> Place:
    """Return a place that is not written down yet, its code as many words as a code may have."""
    code = name if len(name) <= LONGEST_CODE else name[: LONGEST_CODE + 1].rpartition(" ")[0]
    code = code.rstrip(" ,;.") or name[:LONGEST_CODE]
    return Place(code=code, name="" if code == name else name, owner=owner)


def members_to_suggest() -> QuerySet[Member]:
    return Member.objects.filter(is_active=True).order_by("number")[:MOST_SUGGESTIONS]


def member_by_number_or_name(text: str) -> Member | None:
    """The one member meant, or None if there is none or more than one."""
    number = text.split(maxsplit=1)[0] if text.split() else ""
    found = Member.objects.filter(Q(number=number) | Q(name__iexact=text.strip()))[:2]
    return found[0] if len(found) == 1 else None


def harvests_without_lot(grower: Member) -> QuerySet[Harvest]:
    """A grower's harvests whose seed is in no lot yet."""
    in_lot = Exists(Lot.objects.filter(harvest=OuterRef("pk"), withdrawn_at=None))
    return (
        Harvest.objects.filter(~in_lot, cross__grower=grower, withdrawn_at=None)
        .select_related("cross__seed_parent", "cross__pollen_parent")
        .prefetch_related("cross__pollen_shares__plant")
        .order_by("-harvested_on")
    )


@dataclass(frozen=True)
class SeedToGive:
    """Seed at home that is in no packet yet, and into how many packets it would go."""

    record: Harvest | Lot
    name_text: str
    year: int
    seeds: int | None
    packets: int | None


def seed_to_give(donor: Member) -> list[SeedToGive]:
    """Return a donor's harvests that are in no lot, and lots that are in no packets."""
    return [
        *(
            SeedToGive(
                record=harvest,
                name_text=harvest_name(harvest),
                year=harvest.harvested_on.year,
                seeds=harvest.seeds,
                packets=_packets_of_seeds(harvest),
            )
            for harvest in harvests_without_lot(donor)
        ),
        *(
            SeedToGive(lot, lot.name_text, lot.year, lot.seeds, _packets_of_seeds(lot))
            for lot in lots_without_packets(donor)
        ),
    ]


def _packets_of_seeds(record: Harvest | Lot) -> int | None:
    """Say how many usual packets seed fills besides the grower's own share."""
    fewest = record.seeds if record.seeds_low is None else record.seeds_low
    if not fewest:
        return None
    return plan_packets(fewest, seeds_per_packet=USUAL_SEEDS_PER_PACKET).packets or None


def lots_without_packets(owner: Member) -> QuerySet[Lot]:
    """A member's lots whose seed is in no packet yet."""
    packed = Exists(Packet.objects.filter(lot=OuterRef("pk")))
    return Lot.objects.filter(~packed, owner=owner, withdrawn_at=None).order_by("-year", "-pk")


def harvest_name(harvest: Harvest) -> str:
    return cross_formula(harvest.cross)


def packets_to_label(
    lot: Lot,
    viewer: Member,
    *,
    numbers: Sequence[str] = (),
    first: str = "",
    last: str = "",
) -> list[Packet]:
    """Packets of a lot that the viewer has: those named, a run of them, or all."""
    packets = packets_in_the_hands_of(viewer).filter(lot=lot).select_related("lot__taxon")
    if numbers:
        packets = packets.filter(number__in=numbers)
    ends = lot.packets.filter(number__in=[first, last]).values_list("pk", flat=True)
    if first and last and ends:
        packets = packets.filter(pk__gte=min(ends), pk__lte=max(ends))
    return list(packets.order_by("pk"))


def places_to_suggest(user: Member) -> list[Place]:
    return list(places_of(user)[:MOST_SUGGESTIONS])


def cautions_listed(rules: QuerySet[CautionRule]) -> QuerySet[CautionRule]:
    """Rules gravest first, as a parcel meets them."""
    gravity = [
        When(level=level, then=Value(place))
        for place, level in enumerate(reversed(CautionRule.Level.values))
    ]
    return rules.order_by(Case(*gravity), "rule")


def caution_history(rule: CautionRule) -> list[Any]:
    """Return what a rule said before, the latest first, with who changed it and why."""
    return list(
        rule.history.select_related("history_user").order_by("-history_date", "-history_id")
    )


def parents_behind_names(lots: Iterable[Lot]) -> dict[int, str]:
    """Return the formula of each lot's cross where the lot goes by another name; two queries."""
    crossed = (
        Lot.objects.filter(pk__in=[lot.pk for lot in lots], harvest__isnull=False)
        .select_related("harvest__cross__seed_parent", "harvest__cross__pollen_parent")
        .prefetch_related("harvest__cross__pollen_shares__plant")
    )
    formulas = {lot: cross_formula(lot.harvest.cross) for lot in crossed if lot.harvest}
    return {lot.pk: formula for lot, formula in formulas.items() if formula != lot.name_text}
