from typing import Any

from django.contrib import admin, messages
from django.db.models import Count, QuerySet
from django.http import HttpRequest
from simple_history.admin import SimpleHistoryAdmin

from crosses.base.admin import LookOnly
from crosses.base.clock import now
from crosses.base.history import save_with_history
from crosses.base.pages import carry_out_or_say
from seedbank.members.actions.mail import send_again
from seedbank.members.actions.member import invite, send_invitation
from seedbank.members.actions.roles import Role, give_role
from seedbank.members.actions.token import revoke_token
from seedbank.members.http import MemberRequest
from seedbank.members.models import ApiToken, Household, Member, UnsentMail
from seedbank.members.queries import mail_words


@admin.register(Member)
class MemberAdmin(SimpleHistoryAdmin):  # type: ignore[misc]  # the library is untyped
    """Invites members and gives roles. Addresses are not here: they are for who packs a parcel."""

    list_display = ["number", "name", "email", "country", "donor_code", "household", "is_active"]
    list_filter = ["is_active", "groups", "country"]
    list_select_related = ["household"]
    search_fields = ["number", "name", "email", "donor_code"]
    autocomplete_fields = ["household"]
    filter_horizontal = ["groups"]
    actions = ["invite_again", "make_keepers", "make_packers", "make_administrators"]
    fields = [
        "number",
        "name",
        "email",
        "country",
        "language",
        "household",
        "donor_code",
        "joined_on",
        "groups",
        "is_active",
        "is_staff",
        "is_superuser",
    ]

    def save_model(self, request: MemberRequest, obj: Member, form: Any, change: bool) -> None:  # noqa: FBT001
        if change:
            save_with_history(obj, by=request.user)
            return
        invite(member=obj, by=request.user)
        messages.info(request, mail_words("An invitation", obj))

    def has_delete_permission(self, request: HttpRequest, obj: Member | None = None) -> bool:
        """Who leaves is switched off, not deleted: their crosses and seed keep their source."""
        return False

    @admin.action(description="Send the invitation again")
    def invite_again(self, request: HttpRequest, members: QuerySet[Member]) -> None:
        for member in members.filter(is_active=True):
            send_invitation(member=member)

    @admin.action(description="Make them seed keepers")
    def make_keepers(self, request: HttpRequest, members: QuerySet[Member]) -> None:
        for member in members:
            give_role(member=member, role=Role.KEEPER)

    @admin.action(description="Make them packers")
    def make_packers(self, request: HttpRequest, members: QuerySet[Member]) -> None:
        for member in members:
            give_role(member=member, role=Role.PACKER)

    @admin.action(description="Make them administrators")
    def make_administrators(self, request: HttpRequest, members: QuerySet[Member]) -> None:
        for member in members:
            give_role(member=member, role=Role.ADMINISTRATOR)


@admin.register(Household)
class HouseholdAdmin(admin.ModelAdmin):  # type: ignore[type-arg]  # not generic at run time
    list_display = ["name", "members_here"]
    search_fields = ["name", "members__name"]

    def get_queryset(self, request: HttpRequest) -> QuerySet[Household]:
        households: QuerySet[Household] = super().get_queryset(request)
        return households.annotate(count_of_members=Count("members"))

    @admin.display(description="members", ordering="count_of_members")
    def members_here(self, household: Household) -> int:
        count: int = household.count_of_members  # type: ignore[attr-defined]  # annotated above
        return count


@admin.register(ApiToken)
class ApiTokenAdmin(LookOnly, admin.ModelAdmin):  # type: ignore[type-arg]  # not generic at run time
    """Keys are made by their members; here they are only seen and revoked."""

    list_display = [
        "member",
        "name",
        "hint",
        "scope",
        "created_at",
        "expires_at",
        "last_used_at",
        "revoked_at",
    ]
    list_select_related = ["member"]
    search_fields = ["member__number", "member__name", "name", "hint"]
    fields = [
        "member",
        "name",
        "hint",
        "scope",
        "created_at",
        "expires_at",
        "last_used_at",
        "revoked_at",
    ]
    actions = ["revoke"]

    @admin.action(description="Revoke", permissions=["view"])
    def revoke(self, request: HttpRequest, tokens: QuerySet[ApiToken]) -> None:
        for token in tokens:
            revoke_token(token=token, at=now())


@admin.register(UnsentMail)
class UnsentMailAdmin(LookOnly, admin.ModelAdmin):  # type: ignore[type-arg]  # not generic at run time
    """Mails that the server did not take, to be sent again once it does."""

    list_display = ["member", "subject", "failed_at", "failure"]
    list_select_related = ["member"]
    search_fields = ["member__number", "member__name", "subject"]
    fields = ["member", "subject", "body", "failed_at", "failure"]
    actions = ["try_again"]

    @admin.action(description="Send again", permissions=["view"])
    def try_again(self, request: HttpRequest, mails: QuerySet[UnsentMail]) -> None:
        chosen = list(mails.select_related("member"))

        def act() -> None:
            messages.info(request, f"{send_again(mails=chosen)} of {len(chosen)} were sent.")

        carry_out_or_say(request, act)
