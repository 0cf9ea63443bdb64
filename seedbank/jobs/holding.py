"""Who is at it, as the system knows: a lock on a file that a process loses in the moment it dies.

A heartbeat in the database tells it too, from any computer, but only after it has been silent for a
while. Of a worker on this computer that was killed the lock tells at once.
"""

import fcntl
import os
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from seedbank.jobs.files import jobs_folder


def worker_hold(name: uuid.UUID) -> Path:
    return jobs_folder() / f"worker-{name}.held"


def job_hold(claim: uuid.UUID | None) -> Path:
    return jobs_folder() / f"job-{claim}.held"


@contextmanager
def holding(path: Path) -> Iterator[None]:
    """Hold a file for as long as this process lives and the work lasts."""
    path.parent.mkdir(parents=True, exist_ok=True)
    # Locked under another name first: whoever finds the file without a lock takes its owner for dead.
    new = path.with_suffix(".new")
    file = os.open(new, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(file, fcntl.LOCK_EX)
        new.rename(path)
        yield
    finally:
        path.unlink(missing_ok=True)
        os.close(file)


def is_let_go(path: Path) -> bool:
    """Whether it was held and its holder has died; False also where nothing is known of it."""
    try:
        file = os.open(path, os.O_RDWR)
    except FileNotFoundError:
        return False
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    finally:
        os.close(file)
    return True
