"""Many people at once: threads, each with a connection of its own, on a database in a file."""

import contextlib
import sqlite3
import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import connection


@pytest.fixture
def real_database(transactional_db: None, tmp_path) -> Iterator[None]:
    """Let threads meet as in the service; SQLite in memory would refuse what a file lets wait."""
    if connection.vendor != "sqlite" or not connection.is_in_memory_db():
        yield
        return
    in_memory, name = connection.connection, connection.settings_dict["NAME"]
    with contextlib.closing(sqlite3.connect(tmp_path / "race.sqlite3")) as copy:
        in_memory.backup(copy)
    connection.connection = None
    connection.settings_dict["NAME"] = str(tmp_path / "race.sqlite3")
    yield
    connection.close()
    connection.connection, connection.settings_dict["NAME"] = in_memory, name


@pytest.fixture
def all_at_once() -> Callable[[Callable[[], Any], int], list[Any]]:
    """Return a function that has many people do one thing at the same moment.

    The answer holds what each of them got, or the exception that stopped them.
    """

    def do(act: Callable[[], Any], people: int) -> list[Any]:
        start = threading.Barrier(people)
        answers: list[Any] = []

        def one_person() -> None:
            start.wait()
            try:
                answers.append(act())
            except Exception as stopped:  # noqa: BLE001  the test looks at what stopped them
                answers.append(stopped)
            finally:
                connection.close()

        threads = [threading.Thread(target=one_person) for _ in range(people)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        return answers

    return do
