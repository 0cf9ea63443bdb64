"""Who may see what of the exchange, and who may change it."""

import base64
import datetime
from collections.abc import Iterable

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404, QueryDict
from django.shortcuts import get_object_or_404
from django.utils.crypto import constant_time_compare, salted_hmac

from seedbank.exchange.models import CustomsWords, ListLine, Parcel, ParcelItem, Round, WishList
from seedbank.members.models import Member


def may_keep(user: Member) -> bool:
    return user.has_perm("exchange.keep_exchange")


def may_pack(user: Member) -> bool:
    return user.has_perm("exchange.pack_parcels")


def require_keeper(user: Member) -> None:
    if not may_keep(user):
        raise PermissionDenied("Only a seed keeper may do this.")


def require_packer(user: Member) -> None:
    if not may_pack(user):
        raise PermissionDenied("Only those who pack may do this.")


def rounds_visible_to(user: Member) -> QuerySet[Round]:
    """Rules, dates and the commitment are public to every member from the first day."""
    return Round.objects.all()


def round_for_reading(user: Member, slug: str) -> Round:
    return get_object_or_404(rounds_visible_to(user), slug=slug)


def published_round(slug: str) -> Round | None:
    """Return a round whose files anybody may read: announced, with nobody's number in them."""
    published = Round.objects.filter(announced_at__isnull=False).exclude(pseudonym_key="")
    return published.filter(slug=slug).first()


def round_for_writing(user: Member, slug: str) -> Round:
    found = round_for_reading(user, slug)
    require_keeper(user)
    return found


def may_read_list(user: Member, round: Round, at: datetime.datetime) -> bool:
    return may_keep(user) or round.is_list_open_at(at)


def lines_visible_to(user: Member, round: Round, at: datetime.datetime) -> QuerySet[ListLine]:
    if not may_read_list(user, round, at):
        return ListLine.objects.none()
    return ListLine.objects.filter(round=round)


def line_for_writing(user: Member, slug: str, line_number: int) -> ListLine:
    found = round_for_writing(user, slug)
    lines = ListLine.objects.select_related("lot", "round")
    return get_object_or_404(lines, round=found, line_number=line_number)


def wish_lists_visible_to(user: Member) -> QuerySet[WishList]:
    lists = WishList.objects.all()
    return lists if may_keep(user) else lists.filter(member=user)


def parcels_visible_to(user: Member) -> QuerySet[Parcel]:
    """A member sees her own parcels, once the result of the round is announced."""
    parcels = Parcel.objects.select_related("round", "member", "packer")
    if may_pack(user) or may_keep(user):
        return parcels
    return parcels.filter(member=user, round__announced_at__isnull=False)


def parcels_of(user: Member) -> QuerySet[Parcel]:
    """The parcels that come to oneself, also for somebody who packs or keeps and sees them all."""
    own = parcels_visible_to(user).filter(member=user, cancelled_at=None)
    return own.filter(round__announced_at__isnull=False)


def parcels_to_pack(user: Member, *, slug: str = "") -> QuerySet[Parcel]:
    """Parcels of announced rounds, or of one of them, for those who pack."""
    require_packer(user)
    parcels = parcels_visible_to(user).filter(round__announced_at__isnull=False)
    return parcels.filter(round__slug=slug) if slug else parcels


def parcels_chosen(user: Member, chosen: QueryDict) -> QuerySet[Parcel]:
    """Parcels by number (`parcel`), or all of a round (`round`), that are not cancelled."""
    parcels = parcels_to_pack(user, slug=chosen.get("round", "")).filter(cancelled_at=None)
    numbers = chosen.getlist("parcel")
    if numbers:
        parcels = parcels.filter(number__in=numbers)
    elif not chosen.get("round"):
        parcels = parcels.none()
    return parcels.order_by("number")


def parcel_for_reading(user: Member, number: str) -> Parcel:
    return get_object_or_404(parcels_visible_to(user), number=number)


def report_signature(parcel_number: str) -> str:
    """Return what makes the code on a slip ours: 96 bits that nobody can guess or carry over."""
    digest = salted_hmac("parcel-report", parcel_number, algorithm="sha256").digest()
    return base64.urlsafe_b64encode(digest[:12]).decode()


def report_path(parcel_number: str) -> str:
    return f"/r/{parcel_number}/{report_signature(parcel_number)}/"


def parcel_for_report(number: str, signature: str) -> Parcel:
    """Return the parcel of a slip's code, for anybody who holds the slip; no other opens it."""
    if not constant_time_compare(signature, report_signature(number)):
        raise Http404
    parcels = Parcel.objects.select_related("round", "member").filter(cancelled_at=None)
    return get_object_or_404(parcels, number=number)


def parcel_to_stop_reports(user: Member, number: str) -> Parcel:
    found = parcel_for_reading(user, number)
    if found.member_id != user.pk and not may_keep(user):
        raise PermissionDenied("Only the member and the keeper shut the page of a parcel.")
    return found


def parcel_for_writing(user: Member, number: str) -> Parcel:
    found = parcel_for_reading(user, number)
    require_packer(user)
    return found


def may_see_address(user: Member, parcel: Parcel) -> bool:
    """Say whether the address on a parcel may be shown: to whoever has it in hand, and the keeper.

    Once a parcel is in the post its packer has no more need of the address.
    """
    if may_keep(user):
        return True
    return may_pack(user) and parcel.packer_id == user.pk and parcel.posted_on is None


def keys_with_address(user: Member, parcels: Iterable[Parcel]) -> set[int]:
    """Return the keys of those parcels whose address may be printed for this reader: also one's own."""
    return {
        parcel.pk
        for parcel in parcels
        if may_see_address(user, parcel) or parcel.member_id == user.pk
    }


def parcels_to_address(user: Member, chosen: QueryDict) -> list[Parcel]:
    """Of the parcels chosen those to be addressed now: in hand, and not in the post yet."""
    parcels = parcels_chosen(user, chosen).filter(posted_on=None)
    return [parcel for parcel in parcels if may_see_address(user, parcel)]


def customs_words_for_writing(user: Member, key: int) -> CustomsWords:
    require_keeper(user)
    return get_object_or_404(CustomsWords, pk=key)


def member_for_wishes(user: Member, member_number: str) -> Member:
    """Return the member whose posted list the keeper types in."""
    require_keeper(user)
    return get_object_or_404(Member.objects.filter(is_active=True), number=member_number)


def finished_rounds() -> QuerySet[Round]:
    """Rounds whose result is announced, the latest first."""
    return Round.objects.filter(announced_at__isnull=False).order_by("-announced_at")


def surplus_item_for_writing(user: Member, slug: str, key: int) -> ParcelItem:
    """Return a packet that this member took of the surplus."""
    items = ParcelItem.objects.select_related("parcel__round", "packet", "line")
    return get_object_or_404(
        items, pk=key, parcel__round__slug=slug, parcel__member=user, is_surplus=True
    )
