"""The worker: takes up what waits, one after the other, and says in words how it ended."""

import logging
import uuid
from contextlib import nullcontext

from django.core.exceptions import PermissionDenied

from crosses.base.clock import now
from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from seedbank.jobs.actions import end_job, put_back, remove_old_files, take_up, worker_beat
from seedbank.jobs.holding import holding, job_hold
from seedbank.jobs.models import Job
from seedbank.jobs.registry import kind_of
from seedbank.jobs.work import NoLongerOurs, Work

log = logging.getLogger(__name__)


def run_waiting_jobs(*, name: uuid.UUID | None = None, is_beating: bool = False) -> int:
    """Do all that waits and return how many jobs that were."""
    many = 0
    while job := take_up(at=now()):
        if name is not None:
            worker_beat(name=name, at=now())
        run_job(job, is_beating=is_beating)
        many += 1
    remove_old_files(at=now())
    return many


def run_job(job: Job, *, is_beating: bool = False) -> None:
    """Do a job that has been taken up, and end it one way or another."""
    work = Work(job)
    try:
        with holding(job_hold(job.claim)), work.beating() if is_beating else nullcontext():
            message = _act(job, work)
    except NoLongerOurs:
        log.warning("Job %s was stopped or taken up by another.", job.pk)
    except (Refused, BadInput) as no:
        end_job(job=job, state=Job.State.FAILED, at=now(), message=no.message)
    except PermissionDenied:
        words = "You may no longer do this: a role you had when you asked has been taken away."
        end_job(job=job, state=Job.State.FAILED, at=now(), message=words)
    except Exception:
        # A fault of ours in one job must not stop those that wait behind it.
        log.exception("Job %s (%s) failed.", job.pk, job.kind)
        words = "Something went wrong on our side; it stands in the log. Ask the administrator."
        end_job(job=job, state=Job.State.FAILED, at=now(), message=words)
    except BaseException:
        put_back(job=job)
        raise
    else:
        end_job(
            job=job,
            state=Job.State.FINISHED,
            at=now(),
            message=message,
            result_name=work.result_name,
            done=work.total or work.done,
            total=work.total,
        )


def _act(job: Job, work: Work) -> str:
    kind = kind_of(job.kind)
    if not kind.may(job.asked_by):
        raise PermissionDenied
    message: str = kind.act(work)
    return message
