"""Who may see a job: whoever asked for it."""

from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from seedbank.jobs.models import Job
from seedbank.jobs.registry import kind_of


def jobs_visible_to(user: Any) -> QuerySet[Job]:
    return Job.objects.filter(asked_by=user)


def job_for_reading(user: Any, key: int) -> Job:
    return get_object_or_404(jobs_visible_to(user), pk=key)


def job_for_fetching(user: Any, key: int) -> Job:
    """The result may hold what only a role may see, so the role is asked for again."""
    job = job_for_reading(user, key)
    try:
        kind = kind_of(job.kind)
    except KeyError as unknown:
        # A job of another release: what it made is nothing that this one can answer for.
        raise Http404 from unknown
    if not kind.may(user):
        raise PermissionDenied("You may no longer see what this file holds.")
    return job
