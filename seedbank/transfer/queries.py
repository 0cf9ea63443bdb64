"""What the pages of bringing in show."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from seedbank.jobs.access import jobs_visible_to
from seedbank.jobs.models import Job
from seedbank.members.models import Member
from seedbank.transfer.access import imports_visible_to
from seedbank.transfer.actions import may_be_undone
from seedbank.transfer.kind import Kind
from seedbank.transfer.kinds import KINDS
from seedbank.transfer.models import Import

MOST_SHOWN = 20


@dataclass(frozen=True, slots=True)
class ImportPage:
    """A file as its page shows it, and the work on it while there is any."""

    brought: Import
    kind: Kind
    report: Mapping[str, Any]
    job: Job | None
    may_undo: bool

    @property
    def is_being_done(self) -> bool:
        return (
            self.brought.state in {Import.State.LOOKING, Import.State.SAVING}
            and self.job is not None
            and not self.job.has_ended
        )

    @property
    def may_confirm(self) -> bool:
        return (
            self.brought.state == Import.State.LOOKED
            and bool(self.report.get("rows_total"))
            and not self.report.get("wrong_rows")
        )

    @property
    def is_open(self) -> bool:
        return self.brought.state not in {Import.State.SAVED, Import.State.UNDONE}


def import_page(brought: Import, at: datetime.datetime) -> ImportPage:
    jobs = jobs_visible_to(brought.by).filter(arguments__import=brought.pk)
    return ImportPage(
        brought=brought,
        kind=KINDS[brought.kind],
        report=brought.report,
        job=jobs.order_by("-id").first(),
        may_undo=may_be_undone(brought, at),
    )


def kinds_for(member: Member) -> list[Kind]:
    return [kind for kind in KINDS.values() if kind.may_be_brought_by(member)]


def latest_imports(member: Member, at: datetime.datetime) -> list[tuple[Import, Kind, bool]]:
    """Return a member's latest files, and whether each can still be taken back."""
    return [
        (brought, KINDS[brought.kind], may_be_undone(brought, at))
        for brought in imports_visible_to(member)[:MOST_SHOWN]
    ]
