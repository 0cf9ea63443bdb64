"""Who may see what of a member."""

from django.shortcuts import get_object_or_404

from seedbank.members.models import Address, ApiToken, CalendarAddress, Member


def address_for(viewer: Member, person: Member, *, may: bool) -> Address | None:
    """Return a member's address for themselves, the keeper, or who packs their parcel.

    `may` says that the viewer has the parcel in hand; whoever knows parcels answers that.
    """
    if not (may or viewer.is_keeper or viewer.pk == person.pk):
        return None
    return Address.objects.filter(member=person).first()


def calendar_address_for_writing(user: Member, key: int) -> CalendarAddress:
    return get_object_or_404(CalendarAddress.objects.filter(member=user), pk=key)


def token_for_writing(user: Member, key: int) -> ApiToken:
    return get_object_or_404(ApiToken.objects.filter(member=user), pk=key)
