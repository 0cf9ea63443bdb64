"""On a small site no worker runs of its own: whoever asks for work calls one, and it ends when idle."""

import datetime
import os
import subprocess
import sys
import threading
import uuid
from collections.abc import Iterable

from django.conf import settings

from crosses.base.clock import now
from seedbank.jobs.files import jobs_folder
from seedbank.jobs.models import Job, Worker
from seedbank.jobs.queries import is_worker_alive


def call_worker(*, at: datetime.datetime) -> None:
    """Start a worker, unless one shows a heartbeat."""
    if not is_worker_alive(at):
        start_worker(at)


def look_after(jobs: Iterable[Job]) -> None:
    """Call a worker where one of these has not ended: every page that shows a job does so."""
    if any(not job.has_ended for job in jobs):
        call_worker(at=now())


def start_worker(at: datetime.datetime) -> None:
    """Start a worker that outlives this process."""
    # It is entered here and not by itself, or pages asked for while it starts would call more.
    name = uuid.uuid4()
    Worker.objects.create(name=name, started_at=at, heartbeat_at=at)
    folder = jobs_folder()
    folder.mkdir(parents=True, exist_ok=True)
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "jobs", "--until-idle"]
    with (folder / "jobs.log").open("ab") as log:
        process = subprocess.Popen(  # noqa: S603  our own command, nothing in it from outside
            [*command, "--name", str(name)],
            cwd=settings.BASE_DIR,
            env={**os.environ, "DJANGO_SETTINGS_MODULE": "seedbank.settings"},
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            # A restart of the site must not take it along.
            start_new_session=True,
        )
    # Somebody has to wait for it, or it stays in the table of processes when it has ended.
    threading.Thread(target=process.wait, daemon=True).start()
