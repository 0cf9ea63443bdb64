"""Who may see and who may change what the bank keeps."""

from django.core.exceptions import PermissionDenied
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.shortcuts import get_object_or_404

from crosses.base.refusal import Refused
from crosses.base.visibility import Visibility
from crosses.models import Harvest
from seedbank.bank.models import CautionRule, Donation, DonationLine, Lot, Packet, Place
from seedbank.members.models import Member


def lots_visible_to(user: Member) -> QuerySet[Lot]:
    """The society's lots, one's own, those one has a packet of; for a keeper also the offered."""
    has_packet = Exists(Packet.objects.filter(lot=OuterRef("pk"), holder=user))
    seen = Q(visibility=Visibility.SOCIETY) | Q(owner=user) | Q(raised_by=user) | Q(has_packet)
    if user.is_keeper:
        offered = Exists(DonationLine.objects.filter(lot=OuterRef("pk")))
        seen |= Q(owner=None) | Q(offered)
    return Lot.objects.filter(seen)


def lot_for_reading(user: Member, number: str) -> Lot:
    lots = lots_visible_to(user).select_related("owner", "raised_by", "taxon", "harvest__cross")
    return get_object_or_404(lots, number=number)


def lot_for_writing(user: Member, number: str) -> Lot:
    """The owner changes a lot; the bank's own lots are the keeper's."""
    lot = lot_for_reading(user, number)
    may = user.is_keeper if lot.owner_id is None else lot.owner_id == user.pk
    if not may:
        raise PermissionDenied
    return lot


def other_lot(user: Member, number: str) -> Lot:
    """Return a lot that was typed to be compared with."""
    found = lots_visible_to(user).filter(number=number, withdrawn_at=None).first()
    if found is None:
        raise Refused("unknown", f"There is no lot {number} that you may see.", field="other")
    return found


def packets_visible_to(user: Member) -> QuerySet[Packet]:
    return Packet.objects.filter(lot__in=lots_visible_to(user))


def packet_for_reading(user: Member, number: str) -> Packet:
    packets = packets_visible_to(user).select_related("lot", "place", "holder")
    return get_object_or_404(packets, number=number)


def packets_in_the_hands_of(user: Member) -> QuerySet[Packet]:
    """Packets one may move, split or discard: one's own, and for a keeper those in the store."""
    mine = Q(state__in=[Packet.State.WITH_MEMBER, Packet.State.SENT], holder=user)
    if user.is_keeper:
        mine |= Q(state__in=[Packet.State.IN_STORE, Packet.State.HELD, Packet.State.PACKED])
    return Packet.objects.filter(mine)


def packet_for_writing(user: Member, number: str) -> Packet:
    packet = packet_for_reading(user, number)
    if not packets_in_the_hands_of(user).filter(pk=packet.pk).exists():
        raise PermissionDenied
    return packet


def bank_places() -> QuerySet[Place]:
    return Place.objects.filter(owner=None)


def places_of(user: Member) -> QuerySet[Place]:
    """One's own places, and for a keeper the bank's."""
    return (
        Place.objects.filter(Q(owner=user) | Q(owner=None)) if user.is_keeper else user.places.all()
    )


def place_for_writing(user: Member, key: int) -> Place:
    return get_object_or_404(places_of(user), pk=key)


def own_harvest_for_giving(user: Member, number: str) -> Harvest:
    """Return a harvest of one's own cross; nobody gives another's seed."""
    harvests = Harvest.objects.select_related("cross__seed_parent", "cross__pollen_parent")
    return get_object_or_404(harvests, number=number, cross__grower=user)


def donations_visible_to(user: Member) -> QuerySet[Donation]:
    """One's own donations; a keeper's are everybody's."""
    return Donation.objects.all() if user.is_keeper else Donation.objects.filter(donor=user)


def donation_for_reading(user: Member, number: str) -> Donation:
    donations = donations_visible_to(user).select_related("donor", "received_by")
    return get_object_or_404(donations, number=number)


def donation_for_writing(user: Member, number: str) -> Donation:
    """The donor takes an offer back, or the keeper for the donor."""
    return donation_for_reading(user, number)


def donation_for_receiving(user: Member, number: str) -> Donation:
    donation = donation_for_reading(user, number)
    if not user.is_keeper:
        raise PermissionDenied
    return donation


def require_rule_maker(user: Member) -> None:
    if not (user.is_keeper or user.is_staff):
        raise PermissionDenied("Only a seed keeper or an administrator changes the rules.")


def caution_rules() -> QuerySet[CautionRule]:
    """Rules in force; every member may read them."""
    return CautionRule.objects.filter(withdrawn_at=None)


def caution_rule_for_writing(user: Member, key: int) -> CautionRule:
    rule = get_object_or_404(caution_rules(), pk=key)
    require_rule_maker(user)
    return rule
