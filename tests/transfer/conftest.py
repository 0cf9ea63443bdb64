import datetime
from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.base import ContentFile

from crosses.base.clock import now, today
from seedbank.transfer.actions import bring_in, look_at, open_import
from seedbank.transfer.cells import Importing
from seedbank.transfer.importing import ImportReport, import_table
from seedbank.transfer.kinds import KINDS
from seedbank.transfer.models import Import


def bring(
    kind: str, text: str | bytes, by: Any, *, is_trial: bool = False, **how: Any
) -> ImportReport:
    """Carry a table out as the command does."""
    data = text.encode() if isinstance(text, str) else text
    importing = Importing(by, now(), today())
    return import_table(KINDS[kind], data, f"{kind}.csv", importing, is_trial=is_trial, **how)


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.VAR_DIR = tmp_path


@pytest.fixture
def brought_in() -> Callable[..., Import]:
    """Return a function that lays a file aside, looks at it and brings it in, as the pages do."""

    def bring_file(kind: str, text: str, by: Any, at: datetime.datetime | None = None) -> Import:
        at = at or now()
        brought = open_import(
            kind=KINDS[kind], file=ContentFile(text.encode()), file_name=f"{kind}.csv", by=by, at=at
        )
        look_at(brought=brought, at=at, today=today())
        return bring_in(brought=brought, at=at, today=today())

    return bring_file
