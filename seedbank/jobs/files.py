"""Where the files of jobs lie: outside what the web server serves, a folder for each."""

import shutil
from pathlib import Path

from django.conf import settings

from seedbank.jobs.models import Job


def jobs_folder() -> Path:
    return Path(settings.VAR_DIR) / "jobs"


def folder_of(job: Job) -> Path:
    """The folder of one job, for what came in with it, its pieces and its result."""
    return jobs_folder() / str(job.pk)


def result_path(job: Job) -> Path | None:
    """The finished file, if there is one and it has not been taken off the disk."""
    if not job.result_name:
        return None
    path = folder_of(job) / job.result_name
    return path if path.is_file() else None


def remove_files(job: Job) -> None:
    shutil.rmtree(folder_of(job), ignore_errors=True)
