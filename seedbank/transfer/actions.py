"""Lay a file aside, look at it, bring it in, and for a day take it back."""

import datetime
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import IO, Any

from django.apps import apps
from django.conf import settings
from django.db import transaction

from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from seedbank.formats.tables import DEFAULT_LIMITS, AbsentColumn, read_table
from seedbank.jobs.actions import queue_job
from seedbank.jobs.models import Job
from seedbank.members.models import Member
from seedbank.transfer.cells import Importing
from seedbank.transfer.importing import CHANGED, ImportReport, Tell, import_table
from seedbank.transfer.kind import Kind, Outcome
from seedbank.transfer.kinds import KINDS
from seedbank.transfer.models import Import, ImportedRecord, KeptMatch
from seedbank.transfer.undoing import Undo, facts_of, kept, put_back, take_back

# A file may be taken back, and one that was never confirmed is kept, for so long.
A_DAY = datetime.timedelta(days=1)
MOST_BYTES = DEFAULT_LIMITS.max_bytes
# A larger file takes longer than a page may.
MOST_BYTES_AT_ONCE = 40_000
LOOK, SAVE = "look at a table", "bring in a table"
ROWS_SHOWN = 200
_OPEN = (Import.State.LOOKING, Import.State.LOOKED, Import.State.SAVING)
PROBLEMS_SHOWN = 500


def file_of(brought: Import) -> Path:
    return Path(settings.VAR_DIR) / "imports" / f"{brought.token}.bin"


@transaction.atomic
def open_import(
    *, kind: Kind, file: IO[bytes], file_name: str, by: Member, at: datetime.datetime
) -> Import:
    """Lay a file aside for one person, to be looked at; what nobody confirmed in a day goes."""
    _remove_old_files(at)
    kept_match = KeptMatch.objects.filter(member=by, kind=kind.name).first()
    brought = Import.objects.create(
        kind=kind.name,
        file_name=file_name[-120:],
        by=by,
        at=at,
        chosen=kept_match.headings if kept_match else {},
    )
    path = file_of(brought)
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    path.write_bytes(file.read())
    return brought


@transaction.atomic
def choose_headings(*, brought: Import, chosen: Mapping[str, str]) -> Import:
    """Say which heading of the file is which column; it is known again the next time."""
    _refuse_unless(brought, *_OPEN)
    brought.chosen = dict(chosen)
    brought.state = Import.State.LOOKING
    brought.save(update_fields=["chosen", "state"])
    KeptMatch.objects.update_or_create(
        member=brought.by, kind=brought.kind, defaults={"headings": brought.chosen}
    )
    return brought


def look_at(
    *, brought: Import, at: datetime.datetime, today: datetime.date, tell: Tell | None = None
) -> Import:
    """Say what a file would do, row by row; nothing of it is saved."""
    kind = KINDS[brought.kind]
    data = _read_file(brought)
    try:
        report = import_table(
            kind,
            data,
            brought.file_name,
            Importing(brought.by, at, today),
            is_trial=True,
            chosen=brought.chosen,
            tell=tell,
        )
        brought.report = _told(report)
    except AbsentColumn as absent:
        header = list(read_table(data, brought.file_name).header)
        brought.report = {
            "refused": absent.message,
            "header": header,
            "headings": absent.headings,
        }
    except BadInput as wrong:
        brought.report = {"refused": wrong.message}
    brought.state = Import.State.LOOKED
    brought.save(update_fields=["report", "state"])
    return brought


def bring_in(
    *,
    brought: Import,
    at: datetime.datetime,
    today: datetime.date,
    tell: Tell | None = None,
    in_same_transaction: Callable[[], None] | None = None,
) -> Import:
    """Save what a file says: all of it, or nothing where a row has become wrong since the look."""
    kind = KINDS[brought.kind]

    def keep_records(report: ImportReport) -> None:
        # The same file must not come in twice by two taps.
        held = Import.objects.select_for_update().get(pk=brought.pk)
        _refuse_unless(held, *_OPEN)
        _keep(brought, report.outcomes)
        brought.state, brought.saved_at = Import.State.SAVED, at
        brought.report = _told(report)
        brought.save(update_fields=["state", "saved_at", "report"])
        if in_same_transaction:
            in_same_transaction()

    report = import_table(
        kind,
        _read_file(brought),
        brought.file_name,
        Importing(brought.by, at, today),
        is_trial=False,
        chosen=brought.chosen,
        tell=tell,
        at_end=keep_records,
    )
    if report.is_saved:
        file_of(brought).unlink(missing_ok=True)
        return brought
    brought.state, brought.report = Import.State.LOOKED, _told(report)
    brought.save(update_fields=["state", "report"])
    return brought


@transaction.atomic
def undo_import(*, brought: Import, by: Member, at: datetime.datetime) -> Import:
    """Take back all that a file made and changed, the last first; all of it, or nothing."""
    brought = Import.objects.select_for_update().get(pk=brought.pk)
    if brought.state != Import.State.SAVED or brought.saved_at is None:
        raise Refused("not-saved", "This file is not in, so there is nothing to take back.")
    if at > brought.saved_at + A_DAY:
        raise Refused("too-late", "A file can be taken back for a day; correct its rows now.")
    undo = Undo(by, at)
    for line in brought.records.order_by("-position").iterator(chunk_size=500):
        model = apps.get_model(line.model)
        record = model._default_manager.filter(pk=line.key).first()  # noqa: SLF001
        if record is None or (line.before is None and getattr(record, "withdrawn_at", None)):
            continue
        if line.before is None:
            take_back(record, undo)
        else:
            put_back(record, line.before, line.after or {}, undo)
    brought.state, brought.undone_at = Import.State.UNDONE, at
    brought.save(update_fields=["state", "undone_at"])
    return brought


@transaction.atomic
def do_in_background(*, brought: Import, work: str, by: Member, at: datetime.datetime) -> Job:
    """Have a large file looked at (`LOOK`) or brought in (`SAVE`) by a worker."""
    _refuse_unless(brought, *_OPEN)
    brought.state = Import.State.SAVING if work == SAVE else Import.State.LOOKING
    brought.save(update_fields=["state"])
    title = f"{KINDS[brought.kind].title}: {work}, {brought.file_name}"[:200]
    return queue_job(kind=work, title=title, by=by, at=at, arguments={"import": brought.pk})


def may_be_undone(brought: Import, at: datetime.datetime) -> bool:
    saved_at = brought.saved_at
    return brought.state == Import.State.SAVED and saved_at is not None and at <= saved_at + A_DAY


def _keep(brought: Import, outcomes: Iterable[Outcome]) -> None:
    """Write down what a file made and changed, so that it can be taken back."""
    lines: list[ImportedRecord] = []
    for outcome in outcomes:
        is_changed = outcome.verdict == CHANGED
        for record in outcome.records:
            lines.append(
                ImportedRecord(
                    brought_by=brought,
                    position=len(lines) + 1,
                    model=record._meta.label,  # noqa: SLF001
                    key=record.pk,
                    before=_kept_facts(outcome.before) if is_changed else None,
                    after=facts_of(record, outcome.before) if is_changed else None,
                )
            )
    ImportedRecord.objects.bulk_create(lines, batch_size=1000)


def _kept_facts(facts: Mapping[str, Any]) -> dict[str, Any]:
    return {name: kept(value) for name, value in facts.items()}


def _told(report: ImportReport) -> dict[str, Any]:
    """Return a report as its page shows it: of many rows the first, of wrong ones all it can."""
    wrong: dict[int, dict[str, str]] = {}
    by_heading = report.headings
    for problem in report.problems:
        at_row = wrong.setdefault(problem.row_number, {})
        heading = by_heading.get(problem.column, "")
        at_row[heading] = " ".join(filter(None, [at_row.get(heading), problem.message]))
    wrong_rows = [row for row in report.verdicts if row.row_number in wrong][:ROWS_SHOWN]
    return {
        "sentence": report.sentence,
        "counts": {verdict: report.count(verdict) for verdict in ("new", "changed", "same")},
        "wrong_rows": len(wrong),
        "rows_total": len(report.verdicts),
        "header": list(report.header),
        "headings": dict(by_heading),
        "notes": list(report.notes),
        "problems": [
            {
                "row": problem.row_number,
                "column": problem.column,
                "typed": problem.typed,
                "message": problem.message,
            }
            for problem in report.problems[:PROBLEMS_SHOWN]
        ],
        "problems_total": len(report.problems),
        "rows": [
            {
                "row": row.row_number,
                "verdict": "wrong" if row.row_number in wrong else row.verdict,
                "cells": [
                    {"text": text, "wrong": wrong.get(row.row_number, {}).get(heading, "")}
                    for heading, text in zip(report.header, row.cells, strict=True)
                ],
                "wrong": wrong.get(row.row_number, {}).get("", ""),
            }
            for row in (wrong_rows or report.verdicts[:ROWS_SHOWN])
        ],
    }


def _read_file(brought: Import) -> bytes:
    try:
        return file_of(brought).read_bytes()
    except FileNotFoundError:
        raise Refused("file-gone", "The file is no longer here. Choose it again.") from None


def _refuse_unless(brought: Import, *states: str) -> None:
    if brought.state not in states:
        words = f"This file is {brought.get_state_display()}."
        raise Refused("import-state", words)


def _remove_old_files(at: datetime.datetime) -> None:
    unconfirmed = [Import.State.LOOKING, Import.State.LOOKED]
    for old in Import.objects.filter(at__lt=at - A_DAY, state__in=unconfirmed):
        file_of(old).unlink(missing_ok=True)
        old.delete()
