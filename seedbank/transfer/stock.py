"""The seed of a lot as a balance: what came in, what went out, what is there."""

from collections.abc import Sequence

from django.db.models import (
    Case,
    F,
    IntegerField,
    Max,
    Min,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from seedbank.bank.access import lots_visible_to, packets_visible_to
from seedbank.bank.models import Lot, Movement, Packet
from seedbank.members.models import Member

COMES_IN, GOES_OUT = "TO", "FROM"
_HERE = [
    Packet.State.WITH_MEMBER,
    Packet.State.IN_STORE,
    Packet.State.HELD,
    Packet.State.PACKED,
]


def lots_with_stock(reader: Member) -> QuerySet[Lot]:
    """Return lots with the seed still in their packets, and when that began and last changed."""
    seen = lots_visible_to(reader).filter(withdrawn_at=None)
    packets = Packet.objects.filter(lot=OuterRef("pk")).order_by()
    moves = Movement.objects.filter(packet__lot=OuterRef("pk")).order_by()
    here = packets.filter(state__in=_HERE).values("lot").annotate(seeds=Sum("seeds_left"))
    first = packets.values("lot").annotate(at=Min("made_at"))
    last = moves.values("packet__lot").annotate(at=Max("at"))
    return (
        seen.select_related("taxon", "harvest__cross__seed_parent", "harvest__cross__pollen_parent")
        .prefetch_related("harvest__cross__pollen_shares__plant")
        .annotate(
            seeds_here=Subquery(here.values("seeds")),
            packeted_at=Subquery(first.values("at")),
            moved_at=Subquery(last.values("at")),
        )
        .order_by("number")
    )


def seed_movements(
    reader: Member, directions: Sequence[str] = (COMES_IN, GOES_OUT)
) -> QuerySet[Movement]:
    """Return the movements by which seed came into a lot or left it, with the direction.

    Seed that was sent is out, and what its receiver does with it moves nothing more.
    """
    earlier = Movement.objects.filter(packet=OuterRef("packet"), step__lt=OuterRef("step"))
    way = earlier.filter(kind__in=["packed", "sent", "returned"]).order_by("-step")
    sown = earlier.filter(kind="part_sown").order_by().values("packet").annotate(n=Sum("seeds"))
    movements = Movement.objects.filter(
        packet__in=packets_visible_to(reader), packet__lot__withdrawn_at=None
    )
    return (
        movements.annotate(
            way=Coalesce(Subquery(way.values("kind")[:1]), Value("")),
            sown_before=Coalesce(Subquery(sown.values("n")), 0),
        )
        .annotate(
            direction=Case(
                When(kind="made", then=Value(COMES_IN)),
                When(kind="returned", way="sent", then=Value(COMES_IN)),
                When(kind="sent", then=Value(GOES_OUT)),
                When(
                    Q(kind__in=["part_sown", "sown", "split", "discarded"]) & ~Q(way="sent"),
                    then=Value(GOES_OUT),
                ),
                default=Value(""),
            ),
            amount=Case(
                When(kind="part_sown", then=F("seeds")),
                default=F("packet__seeds") - F("sown_before"),
                output_field=IntegerField(),
            ),
        )
        .filter(direction__in=directions)
        .select_related("packet__lot")
        .order_by("at", "packet__number", "step")
    )
