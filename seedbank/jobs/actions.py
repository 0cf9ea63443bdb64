"""Ask for work, take it up, and end it. A job is written by whoever holds its claim, and no other."""

import datetime
import shutil
import uuid
from typing import Any

from django.core.exceptions import PermissionDenied
from django.core.files import File
from django.db import transaction
from django.db.models import F, Q

from crosses.base.idempotency import once
from crosses.base.refusal import Refused
from seedbank.jobs.files import folder_of, remove_files
from seedbank.jobs.models import Job, Worker
from seedbank.jobs.queries import GONE_AFTER, is_waiting, waiting_jobs
from seedbank.jobs.registry import kind_of
from seedbank.jobs.starting import call_worker

UPLOAD_NAME = "upload"
# A job that takes its worker down each time must not take the next one down for ever. Each piece
# that is kept begins the count anew: a computer may be switched off more than once in a long job.
MOST_TIMES_TAKEN_UP = 10
# Slips carry addresses: they are printed and then not needed on the disk any more.
FILES_KEPT = datetime.timedelta(days=7)


@transaction.atomic
def queue_job(
    *,
    kind: str,
    title: str,
    by: Any,
    at: datetime.datetime,
    arguments: dict[str, Any] | None = None,
    upload: "File[bytes] | None" = None,
    client_key: uuid.UUID | None = None,
) -> Job:
    """Ask for a piece of work; `title` is what the person reads: "Slips of 40 parcels".

    A file that comes with it lies in the job's folder as `upload` when the work begins.
    """
    if not kind_of(kind).may(by):
        raise PermissionDenied
    job, is_new = once(
        Job,
        client_key,
        lambda: Job.objects.create(
            kind=kind,
            title=title,
            asked_by=by,
            asked_at=at,
            arguments=arguments or {},
            client_key=client_key,
        ),
    )
    if is_new:
        if upload is not None:
            folder_of(job).mkdir(parents=True, exist_ok=True)
            with (folder_of(job) / UPLOAD_NAME).open("wb") as file:
                shutil.copyfileobj(upload, file)
        transaction.on_commit(lambda: call_worker(at=at))
    return job


@transaction.atomic
def stop_job(*, job: Job, by: Any, at: datetime.datetime) -> None:
    """Stop a job that has not ended; its worker notices within seconds and lets go."""
    stopped = Job.objects.filter(
        pk=job.pk, state__in=[Job.State.WAITING, Job.State.RUNNING]
    ).update(state=Job.State.STOPPED, claim=None, ended_at=at, message=f"Stopped by {by.name}.")
    if not stopped:
        raise Refused("job-ended", "This work has ended already.")


def take_up(*, at: datetime.datetime) -> Job | None:
    """Claim the longest waiting job, or None; of several workers one gets it.

    The condition stands in the UPDATE itself, so that on both databases the second of two writers
    finds it no longer true.
    """
    while job := waiting_jobs(at).first():
        if job.times_taken_up >= MOST_TIMES_TAKEN_UP:
            _give_up(job, at=at)
            continue
        claim = uuid.uuid4()
        taken = Job.objects.filter(is_waiting(at), pk=job.pk, claim=job.claim).update(
            state=Job.State.RUNNING,
            claim=claim,
            heartbeat_at=at,
            started_at=at,
            done=F("position"),
            times_taken_up=F("times_taken_up") + 1,
        )
        if taken:
            return Job.objects.select_related("asked_by").get(pk=job.pk)
    return None


def beat(*, job: Job, at: datetime.datetime, **facts: Any) -> bool:
    """Write a sign of life and how far the work is; False once the claim is another's."""
    return bool(Job.objects.filter(pk=job.pk, claim=job.claim).update(heartbeat_at=at, **facts))


def end_job(*, job: Job, state: str, at: datetime.datetime, message: str, **facts: Any) -> bool:
    return bool(
        Job.objects.filter(pk=job.pk, claim=job.claim).update(
            state=state, claim=None, ended_at=at, message=message, **facts
        )
    )


def put_back(*, job: Job) -> None:
    """Lay a job back because its worker is told to end; that is not counted against the job."""
    Job.objects.filter(pk=job.pk, claim=job.claim).update(
        state=Job.State.WAITING, claim=None, times_taken_up=F("times_taken_up") - 1
    )


def worker_beat(*, name: uuid.UUID, at: datetime.datetime) -> None:
    if not Worker.objects.filter(name=name).update(heartbeat_at=at):
        Worker.objects.get_or_create(name=name, defaults={"started_at": at, "heartbeat_at": at})


def worker_leaves(*, name: uuid.UUID, at: datetime.datetime) -> None:
    """Strike a worker off, and with it those that went without a word."""
    Worker.objects.filter(Q(name=name) | Q(heartbeat_at__lt=at - GONE_AFTER)).delete()


def remove_old_files(*, at: datetime.datetime) -> None:
    """Take files off the disk that have been there to be fetched for long enough."""
    old = Job.objects.filter(ended_at__lt=at - FILES_KEPT, removed_at=None)
    for job in old:
        remove_files(job)
        Job.objects.filter(pk=job.pk).update(removed_at=at)


def _give_up(job: Job, *, at: datetime.datetime) -> None:
    Job.objects.filter(is_waiting(at), pk=job.pk).update(
        state=Job.State.FAILED,
        claim=None,
        ended_at=at,
        message=f"The work broke off {MOST_TIMES_TAKEN_UP} times at the same place without saying why."
        " Ask the administrator to look into the log of the jobs.",
    )
