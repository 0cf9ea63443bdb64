"""Large files, looked at and brought in in the background."""

from typing import Any

from crosses.base.clock import now, today
from seedbank.jobs.registry import register
from seedbank.jobs.work import Work
from seedbank.transfer.actions import LOOK, SAVE, bring_in, look_at
from seedbank.transfer.archive.export import export_society
from seedbank.transfer.kinds import KINDS
from seedbank.transfer.models import Import

EXPORT = "export a society"


def _may(user: Any) -> bool:
    """Who may bring in which kind is asked of each file."""
    return True


def _brought(work: Work) -> Import:
    brought = Import.objects.select_related("by").get(pk=work.arguments["import"])
    KINDS[brought.kind].refuse_unless_by(brought.by)
    return brought


def _look(work: Work) -> str:
    brought = look_at(brought=_brought(work), at=now(), today=today(), tell=work.tell)
    return str(brought.report.get("refused") or brought.report["sentence"])


def _save(work: Work) -> str:
    brought = _brought(work)
    if brought.state == Import.State.SAVED:
        # It was interrupted after the last line was written.
        return str(brought.report["sentence"])
    bring_in(
        brought=brought,
        at=now(),
        today=today(),
        tell=work.tell,
        in_same_transaction=lambda: work.keep(1),
    )
    return str(brought.report["sentence"])


def _may_export(user: Any) -> bool:
    """Addresses of all members are in it."""
    return bool(user.is_active and user.is_superuser)


def _export(work: Work) -> str:
    at = now()
    path = work.result(f"society-{at:%Y-%m-%d}.zip")
    rows = export_society(path, at=at, tell=work.tell)
    return f"{rows} rows. It holds addresses: keep it where you keep the backups."


register(EXPORT, _export, may=_may_export)
register(LOOK, _look, may=_may)
register(SAVE, _save, may=_may)
