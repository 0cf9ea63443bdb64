"""The administrator looks at the exchange; its acts are done on their pages, where the rules are."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest
from simple_history.admin import SimpleHistoryAdmin

from crosses.base.admin import LookOnly
from seedbank.exchange.models import (
    AllocationRun,
    CustomsWords,
    LineBar,
    ListLine,
    Parcel,
    ParcelItem,
    Round,
    Surplus,
    Wish,
    WishList,
)


@admin.register(Round)
class RoundAdmin(LookOnly, SimpleHistoryAdmin):  # type: ignore[misc]  # the library is untyped
    list_display = ["name", "slug", "list_opens_at", "wishes_close_at", "policy", "announced_at"]
    list_filter = ["policy", ("announced_at", admin.EmptyFieldListFilter)]
    search_fields = ["name", "slug"]
    # The secret of a draw is told by the round's page, and only when the result is out.
    exclude = ["draw_secret", "pseudonym_key"]


@admin.register(Surplus)
class SurplusAdmin(LookOnly, SimpleHistoryAdmin):  # type: ignore[misc]  # the library is untyped
    list_display = ["round", "opens_at", "closes_at", "packets_each"]
    list_select_related = ["round"]


class LineBarInline(LookOnly, admin.TabularInline):  # type: ignore[type-arg]  # not generic at run time
    model = LineBar
    extra = 0


@admin.register(ListLine)
class ListLineAdmin(LookOnly, SimpleHistoryAdmin):  # type: ignore[misc]  # the library is untyped
    list_display = ["round", "line_number", "lot", "kept_back", "withdrawn_reason"]
    list_filter = ["round", ("withdrawn_reason", admin.EmptyFieldListFilter)]
    list_select_related = ["round", "lot"]
    search_fields = ["line_number", "lot__number", "lot__name_text"]
    inlines = [LineBarInline]


class WishInline(LookOnly, admin.TabularInline):  # type: ignore[type-arg]  # not generic at run time
    model = Wish
    extra = 0
    fields = ["rank", "line", "is_reserve"]

    def get_queryset(self, request: HttpRequest) -> Any:
        return super().get_queryset(request).select_related("line")


@admin.register(WishList)
class WishListAdmin(LookOnly, SimpleHistoryAdmin):  # type: ignore[misc]  # the library is untyped
    list_display = ["round", "member", "changed_at", "entered_by", "cancelled_at"]
    list_filter = ["round", ("cancelled_at", admin.EmptyFieldListFilter)]
    list_select_related = ["round", "member", "entered_by"]
    search_fields = ["member__number", "member__name"]
    inlines = [WishInline]


@admin.register(AllocationRun)
class AllocationRunAdmin(LookOnly, admin.ModelAdmin):  # type: ignore[type-arg]  # not generic at run time
    list_display = ["round", "position", "kind", "policy", "made_at", "made_by", "result_digest"]
    list_filter = ["kind", "policy"]
    list_select_related = ["round", "made_by"]
    search_fields = ["round__slug", "inputs_digest", "result_digest", "why"]
    # The files themselves are megabytes; they are downloaded from the page of the result.
    exclude = ["inputs", "result"]

    def get_queryset(self, request: HttpRequest) -> Any:
        return super().get_queryset(request).defer("inputs", "result")


class ParcelItemInline(LookOnly, admin.TabularInline):  # type: ignore[type-arg]  # not generic at run time
    model = ParcelItem
    extra = 0
    fields = ["line", "packet", "turn", "packed_at", "packed_by", "released_at", "released_reason"]

    def get_queryset(self, request: HttpRequest) -> Any:
        return super().get_queryset(request).select_related("line", "packet", "packed_by")


@admin.register(Parcel)
class ParcelAdmin(LookOnly, SimpleHistoryAdmin):  # type: ignore[misc]  # the library is untyped
    list_display = ["number", "round", "member", "packer", "closed_at", "posted_on", "cancelled_at"]
    list_filter = [
        "round",
        ("closed_at", admin.EmptyFieldListFilter),
        ("posted_on", admin.EmptyFieldListFilter),
    ]
    list_select_related = ["round", "member", "packer"]
    search_fields = ["number", "member__number", "member__name", "items__packet__number"]
    inlines = [ParcelItemInline]


@admin.register(CustomsWords)
class CustomsWordsAdmin(LookOnly, SimpleHistoryAdmin):  # type: ignore[misc]  # the library is untyped
    """The words are changed on their page, /customs/, where a reason is asked for."""

    list_display = ["__str__", "contents", "ticked", "checked_on", "checked_by"]
