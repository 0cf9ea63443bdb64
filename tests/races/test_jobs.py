"""Many workers look for work at the same moment. The race is first shown without its guard."""

import os
import signal
import subprocess
import sys
import time
import uuid

import pytest
from django.conf import settings
from django.db import connection

from seedbank.jobs import registry
from seedbank.jobs.actions import queue_job, take_up
from seedbank.jobs.models import Job
from seedbank.jobs.queries import waiting_jobs
from tests.conftest import NOON

pytestmark = pytest.mark.usefixtures("real_database")

WORKERS = 8
PAUSE_SECONDS = 0.2


@pytest.fixture
def job(tansy, monkeypatch) -> Job:
    monkeypatch.setattr(registry, "_kinds", {})
    registry.register("test", lambda work: "", may=lambda user: True)
    return queue_job(kind="test", title="One job", by=tansy, at=NOON)


def test_control_who_looks_and_then_writes_shares_the_job_with_all(job, all_at_once):
    def look_then_take() -> bool:
        found = waiting_jobs(NOON).first()
        time.sleep(PAUSE_SECONDS)
        return bool(
            Job.objects.filter(pk=found.pk).update(
                state="running", claim=uuid.uuid4(), heartbeat_at=NOON
            )
        )

    assert all_at_once(look_then_take, WORKERS) == [True] * WORKERS


def test_a_job_is_taken_up_by_one_worker(job, all_at_once):
    answers = all_at_once(lambda: take_up(at=NOON), WORKERS)
    assert answers.count(None) == WORKERS - 1
    assert {answer for answer in answers if answer} == {job}
    job.refresh_from_db()
    assert job.times_taken_up == 1


WORKER = """
import os, pathlib, sys, time
import django
django.setup()
from django.core.management import call_command
from django.db import transaction
from seedbank.jobs import registry

def count(work):
    for step in range(work.position, 8):
        with transaction.atomic(), open(sys.argv[1], "a") as lines:
            lines.write(f"{step}\\n")
            lines.flush()
            time.sleep(0.15)
            work.keep(step + 1)
    return "All eight."

registry.register("test", count, may=lambda user: True)
call_command("jobs", "--until-idle")
"""


def _worker(lines) -> subprocess.Popen:
    """A worker of its own, on the database of this test."""
    name = str(connection.settings_dict["NAME"])
    where = "SQLITE_PATH" if connection.vendor == "sqlite" else "PGDATABASE"
    environment = {**os.environ, "DEBUG": "1", where: name, "PYTHONPATH": str(settings.BASE_DIR)}
    environment["DJANGO_SETTINGS_MODULE"] = "seedbank.settings"
    return subprocess.Popen(
        [sys.executable, "-c", WORKER, str(lines)], env=environment, cwd=settings.BASE_DIR
    )


def _kill_when(lines, reached: int) -> None:
    worker = _worker(lines)
    for _ in range(600):
        if len(lines.read_text().splitlines()) >= reached:
            break
        time.sleep(0.05)
    worker.send_signal(signal.SIGKILL)
    worker.wait()


def test_workers_killed_one_after_the_other_lose_nothing_and_the_last_does_the_rest(job, tmp_path):
    """Each is taken up at once: what the one before left is not waited for."""
    lines = tmp_path / "lines.txt"
    reached = [0]
    for pieces in (1, 3, 2):
        lines.write_text("")
        _kill_when(lines, pieces)
        job.refresh_from_db()
        assert job.state == "running"
        assert reached[-1] + pieces - 1 <= job.position < 8
        reached.append(job.position)
    lines.write_text("")
    assert _worker(lines).wait(timeout=60) == 0
    job.refresh_from_db()
    assert (job.state, job.message) == ("finished", "All eight.")
    assert [int(line) for line in lines.read_text().splitlines()] == list(range(reached[-1], 8))
