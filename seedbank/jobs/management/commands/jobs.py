"""Do the background work: `manage.py jobs` as a service, or until nothing waits."""

import signal
import sys
import threading
import time
import uuid
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db import DatabaseError, connection

from crosses.base.clock import now
from seedbank.jobs.actions import worker_beat, worker_leaves
from seedbank.jobs.holding import holding, worker_hold
from seedbank.jobs.running import run_waiting_jobs

LOOK_EVERY_SECONDS = 2.0
BEAT_SECONDS = 10.0


class Command(BaseCommand):
    help = "Do the background work that waits, and take up what another worker left behind."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--until-idle", action="store_true", help="end when nothing waits")
        parser.add_argument("--name", type=uuid.UUID, default=None, help="entered by who calls it")

    def handle(self, **options: Any) -> None:
        name = options["name"] or uuid.uuid4()
        # A service that is told to stop lays its job back for the next one.
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
        ended = threading.Event()
        worker_beat(name=name, at=now())
        beats = threading.Thread(target=_beat_until, args=(name, ended), daemon=True)
        beats.start()
        try:
            with holding(worker_hold(name)):
                self._work(name, until_idle=options["until_idle"])
        finally:
            ended.set()
            beats.join()
            worker_leaves(name=name, at=now())

    def _work(self, name: uuid.UUID, *, until_idle: bool) -> None:
        while True:
            run_waiting_jobs(name=name, is_beating=True)
            if until_idle:
                return
            time.sleep(LOOK_EVERY_SECONDS)


def _beat_until(name: uuid.UUID, ended: threading.Event) -> None:
    try:
        while not ended.wait(BEAT_SECONDS):
            try:
                worker_beat(name=name, at=now())
            except DatabaseError:
                # The database is busy or away for a moment; the next beat will do.
                connection.close()
    finally:
        connection.close()
