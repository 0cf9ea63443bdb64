"""The administrator's desk for sowings: facts are mended here, counts are made on their pages."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest
from simple_history.admin import SimpleHistoryAdmin

from crosses.base.admin import LookOnly
from crosses.base.history import save_with_history
from seedbank.sowings.models import Count, Pretreatment, Replicate, Seedling, Sowing

# What follows from acts: the seed left its packet by it, or counts are held against it.
_DONE_BY_ACTS = [
    "number",
    "packet",
    "grower",
    "sown_on",
    "seeds_sown",
    "closed_on",
    "closed_reason",
    "left_fresh",
    "left_dead",
    "left_abnormal",
    "logged_at",
    "withdrawn_at",
    "withdrawn_by",
    "withdrawn_reason",
]


class ReplicateInline(LookOnly, admin.TabularInline):  # type: ignore[type-arg]  # not generic at run time
    model = Replicate
    extra = 0
    fields = ["position", "seeds", "germinated"]
    readonly_fields = ["germinated"]


class PretreatmentInline(LookOnly, admin.TabularInline):  # type: ignore[type-arg]  # not generic at run time
    model = Pretreatment
    extra = 0


class SeedlingInline(LookOnly, admin.TabularInline):  # type: ignore[type-arg]  # not generic at run time
    model = Seedling
    extra = 0

    def get_queryset(self, request: HttpRequest) -> Any:
        return super().get_queryset(request).select_related("plant")


@admin.register(Sowing)
class SowingAdmin(SimpleHistoryAdmin):  # type: ignore[misc]  # the library is untyped
    list_display = [
        "number",
        "packet",
        "grower",
        "sown_on",
        "seeds_sown",
        "purpose",
        "visibility",
        "closed_on",
        "withdrawn_at",
    ]
    list_filter = [
        "purpose",
        "visibility",
        ("closed_on", admin.EmptyFieldListFilter),
        ("withdrawn_at", admin.EmptyFieldListFilter),
    ]
    list_select_related = ["packet", "grower"]
    search_fields = [
        "number",
        "packet__number",
        "packet__lot__number",
        "packet__lot__name_text",
        "grower__number",
        "grower__name",
    ]
    readonly_fields = _DONE_BY_ACTS
    inlines = [ReplicateInline, PretreatmentInline, SeedlingInline]

    def has_add_permission(self, request: HttpRequest) -> bool:
        """A sowing takes seed out of a packet, which its page does."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Sowing | None = None) -> bool:
        return False

    def save_model(self, request: HttpRequest, obj: Sowing, form: Any, change: bool) -> None:  # noqa: FBT001
        save_with_history(obj, by=request.user, why="administration")


@admin.register(Count)
class CountAdmin(LookOnly, SimpleHistoryAdmin):  # type: ignore[misc]  # the library is untyped
    list_display = [
        "sowing",
        "pot",
        "counted_on",
        "newly_seen",
        "typed_as",
        "typed_number",
        "logged_by",
        "withdrawn_at",
    ]
    list_filter = ["typed_as", ("withdrawn_at", admin.EmptyFieldListFilter)]
    list_select_related = ["replicate__sowing", "logged_by"]
    search_fields = ["replicate__sowing__number", "logged_by__number", "logged_by__name"]
    date_hierarchy = "counted_on"

    @admin.display(ordering="replicate__sowing__number")
    def sowing(self, count: Count) -> str:
        return count.replicate.sowing.number

    @admin.display(ordering="replicate__position")
    def pot(self, count: Count) -> int:
        return count.replicate.position
