"""Who may see a file that was brought in: whoever brings it."""

import uuid

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from seedbank.members.models import Member
from seedbank.transfer.models import Import


def imports_visible_to(user: Member) -> QuerySet[Import]:
    return Import.objects.filter(by=user)


def import_for_writing(user: Member, token: uuid.UUID) -> Import:
    return get_object_or_404(imports_visible_to(user), token=token)
