from collections.abc import Iterator

import pytest

from seedbank.jobs import registry
from seedbank.jobs.actions import queue_job
from seedbank.jobs.models import Job
from tests.conftest import NOON


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.VAR_DIR = tmp_path


@pytest.fixture
def kinds(monkeypatch) -> Iterator[dict[str, registry.Kind]]:
    """Kinds of work for one test only."""
    own: dict[str, registry.Kind] = {}
    monkeypatch.setattr(registry, "_kinds", own)
    return own


@pytest.fixture
def ask(kinds, tansy):
    """Return a function that makes a kind of its act and asks for one job of it."""

    def ask_for(act, *, may=lambda user: True, **facts) -> Job:
        registry.register("test", act, may=may)
        return queue_job(kind="test", title="Forty slips", by=tansy, at=NOON, **facts)

    return ask_for
