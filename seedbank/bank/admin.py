from typing import Any

from django.contrib import admin
from django.http import HttpRequest
from simple_history.admin import SimpleHistoryAdmin

from crosses.base.admin import LookOnly
from crosses.base.history import save_with_history
from seedbank.bank.models import CautionRule, Donation, DonationLine, Lot, Movement, Packet, Place


@admin.register(Lot)
class LotAdmin(SimpleHistoryAdmin):  # type: ignore[misc]  # the library is untyped
    list_display = ["number", "name_text", "year", "origin", "raised_by", "owner", "visibility"]
    list_filter = ["origin", "visibility", "seed_counting", "year"]
    list_select_related = ["raised_by", "owner"]
    search_fields = ["number", "name_text", "raised_by__name", "raised_by__number"]
    raw_id_fields = ["harvest", "taxon", "raised_by", "owner"]
    readonly_fields = ["number", "withdrawn_at", "withdrawn_by", "withdrawn_reason"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        """A lot gets its number on its page."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Lot | None = None) -> bool:
        return False

    def save_model(self, request: HttpRequest, obj: Lot, form: Any, change: bool) -> None:  # noqa: FBT001
        save_with_history(obj, by=request.user, why="administration")


class MovementInline(LookOnly, admin.TabularInline):  # type: ignore[type-arg]  # not generic at run time
    model = Movement
    fk_name = "packet"
    extra = 0
    fields = ["step", "kind", "at", "by", "place", "holder", "seeds", "reference", "note"]

    def get_queryset(self, request: HttpRequest) -> Any:
        return super().get_queryset(request).select_related("by", "place", "holder")


@admin.register(Packet)
class PacketAdmin(LookOnly, admin.ModelAdmin):  # type: ignore[type-arg]  # not generic at run time
    list_display = ["number", "lot", "seeds", "seeds_left", "state", "place", "holder", "made_at"]
    list_filter = ["state", "is_pinch"]
    list_select_related = ["lot", "place", "holder"]
    search_fields = ["number", "lot__number", "lot__name_text"]
    inlines = [MovementInline]
    fields = [
        "number",
        "lot",
        "seeds",
        "is_pinch",
        "split_from",
        "made_at",
        "state",
        "place",
        "holder",
        "seeds_left",
        "last_step",
    ]


@admin.register(Place)
class PlaceAdmin(admin.ModelAdmin):  # type: ignore[type-arg]  # not generic at run time
    list_display = ["code", "name", "owner", "walk_order", "temperature_celsius"]
    list_filter = [("owner", admin.EmptyFieldListFilter)]
    list_select_related = ["owner"]
    search_fields = ["code", "name", "owner__name"]
    raw_id_fields = ["owner"]


class DonationLineInline(LookOnly, admin.TabularInline):  # type: ignore[type-arg]  # not generic at run time
    model = DonationLine
    extra = 0
    fields = [
        "lot",
        "packets_offered",
        "packets_received",
        "answer",
        "declined_reason",
        "answered_by",
    ]

    def get_queryset(self, request: HttpRequest) -> Any:
        return super().get_queryset(request).select_related("lot", "answered_by")


@admin.register(Donation)
class DonationAdmin(LookOnly, SimpleHistoryAdmin):  # type: ignore[misc]  # the library is untyped
    list_display = ["number", "donor", "offered_at", "received_at", "received_by", "withdrawn_at"]
    list_filter = [("received_at", admin.EmptyFieldListFilter)]
    list_select_related = ["donor", "received_by"]
    search_fields = ["number", "donor__number", "donor__name", "lines__lot__name_text"]
    inlines = [DonationLineInline]


@admin.register(CautionRule)
class CautionRuleAdmin(LookOnly, SimpleHistoryAdmin):  # type: ignore[misc]  # the library is untyped
    """Rules are changed on their page, /cautions/, where a reason is asked for."""

    list_display = ["rule", "kind", "level", "checked_on", "checked_by", "withdrawn_at"]
    list_filter = ["kind", "level", ("withdrawn_at", admin.EmptyFieldListFilter)]
    search_fields = ["rule", "words", "source"]
