"""The administrator's desk for the grower's side.

Taxa and rules are edited here. Records can be searched and mended; what is handed out, reckoned or
written once by an act is read-only.
"""

from typing import Any

from django.contrib import admin
from simple_history.admin import SimpleHistoryAdmin

from crosses.base.admin import LookOnly
from crosses.models import (
    Check,
    Cross,
    DestinationFlag,
    Harvest,
    HarvestedPollination,
    NumberSeries,
    Plant,
    PollenShare,
    Pollination,
    SeedSample,
    Taxon,
    TouchUp,
)

_WITHDRAWAL = ("withdrawn_at", "withdrawn_by", "withdrawn_reason")


class _RecordAdmin(SimpleHistoryAdmin):  # type: ignore[misc]  # the library has no types
    """A record whose every change stays in its history."""

    list_per_page = 50


class _WrittenOnce(LookOnly, admin.TabularInline):  # type: ignore[type-arg]  # not generic at run time
    """Rows that an act wrote and nobody edits."""

    extra = 0


class PollenShareInline(_WrittenOnce):
    model = PollenShare


class TouchUpInline(_WrittenOnce):
    model = TouchUp


class CheckInline(_WrittenOnce):
    model = Check


class HarvestedPollinationInline(_WrittenOnce):
    model = HarvestedPollination


class SeedSampleInline(_WrittenOnce):
    model = SeedSample


@admin.register(Taxon)
class TaxonAdmin(_RecordAdmin):
    list_display = ("name", "storage_behaviour", "ripe_low_days", "ripe_high_days", "hazard_note")
    list_filter = ("storage_behaviour", "is_hybrid")
    search_fields = ("genus", "species", "infraspecific_epithet", "common_name")


@admin.register(DestinationFlag)
class DestinationFlagAdmin(_RecordAdmin):
    list_display = ("genus", "taxon", "country", "kind", "words", "checked_on")
    list_filter = ("kind", "country")
    list_select_related = ("taxon",)
    search_fields = ("genus", "taxon__species", "words", "source")
    autocomplete_fields = ("taxon",)


@admin.register(Plant)
class PlantAdmin(_RecordAdmin):
    list_display = ("number", "name_text", "taxon", "keeper", "origin", "visibility", "died_on")
    list_filter = ("origin", "visibility", "style_form")
    list_select_related = ("taxon", "keeper")
    search_fields = ("number", "name_text", "own_label", "keeper__name")
    autocomplete_fields = ("taxon",)
    raw_id_fields = ("keeper",)
    # Descent is changed where a loop would be refused: on the plant's own page.
    readonly_fields = ("number", "raised_from", "propagated_from", *_WITHDRAWAL)


@admin.register(Cross)
class CrossAdmin(_RecordAdmin):
    list_display = (
        "number",
        "own_number",
        "season",
        "grower",
        "seed_parent",
        "pollen",
        "pollen_parent",
        "visibility",
    )
    list_filter = ("season", "pollen", "visibility")
    list_select_related = ("grower", "seed_parent", "pollen_parent")
    search_fields = ("number", "own_number", "grower__name", "seed_parent__name_text")
    raw_id_fields = ("grower",)
    # Seed, tags and seedlings hang on the parents; a wrong cross is withdrawn.
    readonly_fields = (
        "number",
        "seed_parent",
        "pollen",
        "pollen_parent",
        "reciprocal_of",
        *_WITHDRAWAL,
    )
    inlines = (PollenShareInline,)


@admin.register(Pollination)
class PollinationAdmin(_RecordAdmin):
    list_display = ("number", "cross", "pollinated_on", "flowers", "state", "logged_by")
    list_filter = ("state", "tool", "pollen_state")
    list_select_related = ("cross", "logged_by")
    date_hierarchy = "pollinated_on"
    search_fields = ("number", "cross__number", "cross__own_number", "logged_by__name")
    readonly_fields = (
        "number",
        "cross",
        "flowers",
        "pollinated_on",
        "logged_by",
        "logged_at",
        "state",
        "capsules_set",
        "capsules_harvested",
        *_WITHDRAWAL,
    )
    inlines = (TouchUpInline, CheckInline)


@admin.register(Check)
class CheckAdmin(_RecordAdmin):
    list_display = ("pollination", "seen_on", "kind", "flowers", "logged_by")
    list_filter = ("kind",)
    list_select_related = ("pollination", "logged_by")
    date_hierarchy = "seen_on"
    search_fields = ("pollination__number", "note", "logged_by__name")
    # The state of the flower is reckoned when an act writes a look, and only then.
    readonly_fields = (
        "pollination",
        "seen_on",
        "kind",
        "flowers",
        "logged_by",
        "logged_at",
        *_WITHDRAWAL,
    )

    def has_add_permission(self, *_args: Any) -> bool:
        return False

    def has_delete_permission(self, *_args: Any) -> bool:
        return False


@admin.register(Harvest)
class HarvestAdmin(_RecordAdmin):
    list_display = ("number", "cross", "harvested_on", "seeds", "seed_counting", "logged_by")
    list_filter = ("seed_counting", "identified_by", "was_forced")
    list_select_related = ("cross", "logged_by")
    date_hierarchy = "harvested_on"
    search_fields = ("number", "cross__number", "cross__own_number")
    readonly_fields = (
        "number",
        "cross",
        "harvested_on",
        "seeds",
        "seeds_low",
        "seeds_high",
        "seeds_standard_error",
        "thousand_seed_weight_grams",
        "logged_by",
        "logged_at",
        *_WITHDRAWAL,
    )
    inlines = (HarvestedPollinationInline, SeedSampleInline)


@admin.register(NumberSeries)
class NumberSeriesAdmin(LookOnly, admin.ModelAdmin):  # type: ignore[type-arg]  # not generic at run time
    """Shown, never changed: a number handed out twice would be on two tags."""

    list_display = ("kind", "next_serial")
