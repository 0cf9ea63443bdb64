"""The administrator looks at the background work; its files are for whoever asked."""

from django.contrib import admin

from crosses.base.admin import LookOnly
from seedbank.jobs.models import Job, Worker


@admin.register(Job)
class JobAdmin(LookOnly, admin.ModelAdmin):  # type: ignore[type-arg]  # not generic at run time
    list_display = ["title", "kind", "asked_by", "asked_at", "state", "done", "total", "ended_at"]
    list_filter = ["state", "kind"]
    list_select_related = ["asked_by"]
    search_fields = ["title", "asked_by__number", "asked_by__name", "message"]
    # What a job was given may name people; the person who asked knows it.
    exclude = ["arguments", "client_key", "claim"]


@admin.register(Worker)
class WorkerAdmin(LookOnly, admin.ModelAdmin):  # type: ignore[type-arg]  # not generic at run time
    list_display = ["name", "started_at", "heartbeat_at"]
