"""A job from the worker's side: how far it is, where it goes on, and whether it still is ours."""

import datetime
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.db import DatabaseError, connection

from crosses.base.clock import now
from seedbank.jobs.actions import UPLOAD_NAME, beat
from seedbank.jobs.files import folder_of
from seedbank.jobs.models import Job

BEAT_SECONDS = 2.0


class NoLongerOurs(Exception):  # noqa: N818  no fault: somebody stopped the job, or has it now
    """The job was stopped, or another worker has taken it up."""


class Work:
    """What a kind's function is given to work with."""

    def __init__(self, job: Job) -> None:
        self._job = job
        self._is_lost = False
        self._is_beating = False
        self.done = job.done
        self.total = job.total
        self.result_name = ""
        self.folder.mkdir(parents=True, exist_ok=True)

    @property
    def arguments(self) -> dict[str, Any]:
        return self._job.arguments  # type: ignore[no-any-return]  # JSON

    @property
    def asked_by(self) -> Any:
        return self._job.asked_by

    @property
    def asked_at(self) -> datetime.datetime:
        return self._job.asked_at

    @property
    def batch(self) -> str:
        """What the mails of this work go by."""
        return f"job {self._job.pk}"

    @property
    def folder(self) -> Path:
        return folder_of(self._job)

    @property
    def upload(self) -> Path:
        """The file that came with the job."""
        return self.folder / UPLOAD_NAME

    @property
    def position(self) -> int:
        """Where to go on: what `keep` was told last, 0 on the first time."""
        return self._job.position

    def tell(self, done: int, total: int | None = None) -> None:
        """Say how far the work is; called often, it costs next to nothing."""
        if self._is_lost:
            raise NoLongerOurs
        self.done = done
        self.total = self.total if total is None else total
        if not self._is_beating:
            self._beat()

    def keep(self, position: int) -> None:
        """Write where to go on, in the transaction that wrote the work up to there.

        What is rolled back moves no position, and what is committed is never done twice: were the
        job another's by now, this raises and takes the transaction back with it.
        """
        facts = {"position": position, "done": position, "times_taken_up": 1}
        if not beat(job=self._job, at=now(), **facts):
            raise NoLongerOurs
        self._job.position = position
        self._job.times_taken_up = 1
        self.done = position

    def result(self, name: str) -> Path:
        """Return the path to write the finished file to; the person fetches it under that name."""
        self.result_name = name
        return self.folder / name

    @contextmanager
    def beating(self) -> Iterator[None]:
        """Show a heartbeat from a thread of its own, so that one long step is no sign of death."""
        ended = threading.Event()
        thread = threading.Thread(target=self._beat_until, args=(ended,), daemon=True)
        self._is_beating = True
        thread.start()
        try:
            yield
        finally:
            ended.set()
            thread.join()
            self._is_beating = False

    def _beat_until(self, ended: threading.Event) -> None:
        try:
            while not ended.wait(BEAT_SECONDS) and not self._is_lost:
                try:
                    self._beat()
                except DatabaseError:
                    # SQLite has one writer; while the work itself writes, the next beat will do.
                    connection.close()
        finally:
            connection.close()

    def _beat(self) -> None:
        self._is_lost = not beat(job=self._job, at=now(), done=self.done, total=self.total)
