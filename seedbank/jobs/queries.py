"""How far a job is, and what waits for a worker."""

import datetime
import uuid
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from seedbank.jobs.files import result_path
from seedbank.jobs.holding import is_let_go, job_hold, worker_hold
from seedbank.jobs.models import Job, Worker

# A worker writes its heartbeat every few seconds; after so long without one it is gone. Of one
# that was killed on this computer it is known at once.
GONE_AFTER = datetime.timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class JobPage:
    """A job as its page shows it."""

    job: Job
    words: str
    has_result: bool


def is_waiting(at: datetime.datetime) -> Q:
    """Jobs nobody is at: those that wait, and those whose worker has gone."""
    gone = Q(heartbeat_at__lt=at - GONE_AFTER) | Q(claim__in=_dead_claims())
    return Q(state=Job.State.WAITING) | (Q(state=Job.State.RUNNING) & gone)


def waiting_jobs(at: datetime.datetime) -> QuerySet[Job]:
    return Job.objects.filter(is_waiting(at)).order_by("asked_at", "id")


def is_worker_alive(at: datetime.datetime) -> bool:
    names = Worker.objects.filter(heartbeat_at__gte=at - GONE_AFTER).values_list("name", flat=True)
    return any(not is_let_go(worker_hold(name)) for name in names)


def job_page(job: Job, at: datetime.datetime) -> JobPage:
    return JobPage(job, _words(job, at), has_result=result_path(job) is not None)


def _dead_claims() -> list[uuid.UUID]:
    """Claims of workers that died on this computer; a claim is given once and never again."""
    claims = Job.objects.filter(state=Job.State.RUNNING).values_list("claim", flat=True)
    return [claim for claim in claims if claim and is_let_go(job_hold(claim))]


def _words(job: Job, at: datetime.datetime) -> str:
    if job.state == Job.State.WAITING:
        return "Waiting for its turn."
    if job.state != Job.State.RUNNING:
        return f"{job.get_state_display().capitalize()}."
    if Job.objects.filter(is_waiting(at), pk=job.pk).exists():
        return "The work was interrupted and will be taken up where it was."
    return f"Being done{_time_left(job, at)}."


def _time_left(job: Job, at: datetime.datetime) -> str:
    """Say about how long it will take; nothing until there is something to judge by."""
    if not (job.total and job.done and job.started_at) or job.done >= job.total:
        return ""
    gone = (at - job.started_at).total_seconds()
    seconds = gone / job.done * (job.total - job.done)
    if seconds < 10:
        return "; some seconds to go"
    if seconds < 90:
        return f"; about {round(seconds, -1):.0f} seconds to go"
    return f"; about {seconds / 60:.0f} minutes to go"
