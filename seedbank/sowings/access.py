"""Who may see and who may change a sowing."""

from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404

from crosses.base.refusal import Refused
from crosses.base.visibility import Visibility
from seedbank.bank.access import packets_visible_to
from seedbank.bank.models import Packet
from seedbank.members.models import Member
from seedbank.sowings.models import Count, Replicate, Sowing


def sowings_visible_to(user: Member) -> QuerySet[Sowing]:
    """What is not withdrawn and is one's own or the society's; a keeper's power ends here."""
    return Sowing.objects.filter(
        Q(visibility=Visibility.SOCIETY) | Q(grower=user), withdrawn_at=None
    )


def sowing_for_reading(user: Member, number: str) -> Sowing:
    sowings = sowings_visible_to(user).select_related("packet__lot__harvest__cross", "grower")
    return get_object_or_404(sowings, number=number)


def other_sowing(user: Member, number: str) -> Sowing:
    """Return a sowing that was typed to be compared with."""
    found = sowings_visible_to(user).filter(number=number).first()
    if found is None:
        raise Refused("unknown", f"There is no sowing {number} that you may see.", field="other")
    return found


def packet_typed(user: Member, number: str) -> Packet:
    """Return the packet whose number was typed to sow it."""
    found = packets_visible_to(user).filter(number=number).select_related("lot__taxon").first()
    if found is None:
        raise Refused("unknown", f"There is no packet {number} that you may see.", field="packet")
    return found


def sowing_for_writing(user: Member, number: str) -> Sowing:
    sowing = sowing_for_reading(user, number)
    if not may_write(user, sowing):
        raise PermissionDenied("Only its grower may write about a sowing.")
    return sowing


def may_write(user: Member, sowing: Sowing) -> bool:
    """A germination test of the bank is anybody's who keeps it."""
    is_bank_test = sowing.purpose == Sowing.Purpose.TEST and user.is_keeper
    return sowing.grower_id == user.pk or is_bank_test


def open_pots_of(user: Member) -> QuerySet[Replicate]:
    """The pots somebody counts: those of their own open sowings."""
    return Replicate.objects.filter(
        sowing__grower=user, sowing__closed_on=None, sowing__withdrawn_at=None
    )


def count_for_writing(user: Member, number: str, key: int) -> Count:
    sowing = sowing_for_writing(user, number)
    counts = Count.objects.select_related("replicate__sowing")
    return get_object_or_404(counts, pk=key, replicate__sowing=sowing, withdrawn_at=None)
