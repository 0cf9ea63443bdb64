"""What more than a member somebody may do."""

from django.contrib.auth.models import Group, Permission
from django.db import models, transaction

from seedbank.members.models import Member


class Role(models.TextChoices):
    KEEPER = "keeper", "Seed keepers"
    PACKER = "packer", "Packers"
    ADMINISTRATOR = "administrator", "Administrators"


_PERMISSIONS = {
    Role.KEEPER: ["bank.keep_bank", "exchange.keep_exchange", "exchange.pack_parcels"],
    Role.PACKER: ["exchange.pack_parcels"],
    Role.ADMINISTRATOR: [],
}


def group_of(role: Role) -> Group:
    """Return the group of a role with its permissions, made when it is first needed."""
    group, is_new = Group.objects.get_or_create(name=role.label)
    if is_new:
        for permission in _PERMISSIONS[role]:
            app, _, codename = permission.partition(".")
            group.permissions.add(
                Permission.objects.get(content_type__app_label=app, codename=codename)
            )
    return group


@transaction.atomic
def give_role(*, member: Member, role: Role) -> None:
    member.groups.add(group_of(role))
    if role is Role.ADMINISTRATOR:
        member.is_staff = member.is_superuser = True
        member.save(update_fields=["is_staff", "is_superuser"])
